// The turning view of a box: glass walls, bags with their water, packs and boards, all from the plan's numbers.
// Without WebGL nothing of it is shown; the drawings below say the same.

const figure = document.querySelector("figure.turning");
const SCALE = 1 / 100;

function colours() {
  const style = getComputedStyle(document.documentElement);
  const value = (name) => style.getPropertyValue(name).trim();
  return { ink: value("--ink"), sheet: value("--sheet"), sand: value("--sand"), band: value("--band"), kelp: value("--kelp"), stone: value("--stone") };
}

function label(three, text, ink, sheet) {
  const canvas = document.createElement("canvas");
  canvas.width = 256;
  canvas.height = 128;
  const pen = canvas.getContext("2d");
  pen.font = '800 84px "Atkinson Hyperlegible Next", Verdana, sans-serif';
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineWidth = 16;
  pen.lineJoin = "round";
  pen.strokeStyle = sheet;
  pen.strokeText(text, 128, 64);
  pen.fillStyle = ink;
  pen.fillText(text, 128, 64);
  const sprite = new three.Sprite(new three.SpriteMaterial({ map: new three.CanvasTexture(canvas), depthTest: false }));
  sprite.scale.set(1.1, 0.55, 1);
  return sprite;
}

// A body in the box's millimetres (z up) becomes one in the view's units (y up).
function placed(three, mesh, at, size) {
  mesh.position.set((at[0] + size[0] / 2) * SCALE, (at[2] + size[2] / 2) * SCALE, -(at[1] + size[1] / 2) * SCALE);
  return mesh;
}

function block(three, at, size, fill, edge, opacity) {
  const shape = new three.BoxGeometry(size[0] * SCALE, size[2] * SCALE, size[1] * SCALE);
  const group = new three.Group();
  const material = new three.MeshLambertMaterial({ color: fill, transparent: opacity < 1, opacity, depthWrite: opacity >= 1 });
  group.add(new three.Mesh(shape, material));
  group.add(new three.LineSegments(new three.EdgesGeometry(shape), new three.LineBasicMaterial({ color: edge })));
  return placed(three, group, at, size);
}

function bagOf(three, bag, ink, sheet, water) {
  const group = block(three, bag.at, bag.size, sheet, ink, 0.35);
  const high = bag.size[2] * bag.water;
  const shape = new three.BoxGeometry(bag.size[0] * SCALE * 0.97, high * SCALE, bag.size[1] * SCALE * 0.97);
  const filled = new three.Mesh(shape, new three.MeshLambertMaterial({ color: water, transparent: true, opacity: 0.45 }));
  filled.position.y = (-(bag.size[2] - high) / 2) * SCALE + 0.01;
  group.add(filled);
  const name = label(three, bag.id, ink, sheet);
  name.position.y = (bag.size[2] / 2) * SCALE + 0.15;
  group.add(name);
  group.userData.layer = bag.layer;
  return group;
}

function sceneOf(three, bodies, tone) {
  const scene = new three.Scene();
  scene.add(new three.AmbientLight(0xffffff, 2.2));
  const sun = new three.DirectionalLight(0xffffff, 1.6);
  sun.position.set(3, 8, 5);
  scene.add(sun);
  const root = new three.Group();
  const [long, deep, tall] = bodies.inner;
  const w = bodies.wall;
  root.add(block(three, [-w, -w, -w], [long + 2 * w, deep + 2 * w, w], tone.sand, tone.ink, 1));
  const edges = new three.EdgesGeometry(new three.BoxGeometry((long + 2 * w) * SCALE, (tall + w) * SCALE, (deep + 2 * w) * SCALE));
  const walls = new three.LineSegments(edges, new three.LineBasicMaterial({ color: tone.stone }));
  root.add(placed(three, walls, [-w, -w, 0], [long + 2 * w, deep + 2 * w, tall + w]));
  for (const board of bodies.boards) root.add(block(three, board.at, board.size, tone.sand, tone.stone, 0.9));
  for (const pack of bodies.packs) {
    const body = block(three, pack.at, pack.size, tone.kelp, tone.ink, 0.75);
    const name = label(three, pack.kind.split(" ")[0], tone.ink, tone.sheet);
    name.position.y = (pack.size[2] / 2) * SCALE + 0.2;
    body.add(name);
    body.userData.pack = true;
    root.add(body);
  }
  for (const bag of bodies.bags) root.add(bagOf(three, bag, tone.ink, tone.sheet, tone.stone));
  for (const one of root.children) one.userData.home = one.position.y;
  root.position.set((-long / 2) * SCALE, (-tall / 2) * SCALE, (deep / 2) * SCALE);
  const pivot = new three.Group();
  pivot.add(root);
  scene.add(pivot);
  return { scene, pivot, root, reach: Math.hypot(long, deep, tall) * SCALE };
}

async function start() {
  const three = await import(figure.dataset.module);
  const canvas = figure.querySelector("canvas");
  let renderer;
  try {
    renderer = new three.WebGLRenderer({ canvas, antialias: true, alpha: true });
  } catch {
    return;
  }
  figure.hidden = false;
  const bodies = JSON.parse(figure.querySelector("script").textContent);
  let { scene, pivot, root, reach } = sceneOf(three, bodies, colours());
  const camera = new three.PerspectiveCamera(32, 1, 0.1, 200);
  const eye = { around: -0.6, above: 0.55, far: reach * 2.3 };
  const show = () => {
    const width = canvas.parentElement.clientWidth;
    const height = Math.min(width * 0.75, 460);
    renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    renderer.setSize(width, height);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    camera.position.set(Math.sin(eye.around) * Math.cos(eye.above), Math.sin(eye.above), Math.cos(eye.around) * Math.cos(eye.above)).multiplyScalar(eye.far / Math.min(camera.aspect, 1.2));
    camera.lookAt(0, 0, 0);
    renderer.render(scene, camera);
  };
  const turn = (around, above) => {
    eye.around += around;
    eye.above = Math.max(-0.1, Math.min(1.5, eye.above + above));
    show();
  };
  const step = { left: [-0.35, 0], right: [0.35, 0], up: [0, 0.3], down: [0, -0.3] };
  figure.addEventListener("click", (event) => {
    const way = event.target.closest("[data-turn]");
    if (way) turn(...step[way.dataset.turn]);
  });
  let held = null;
  canvas.addEventListener("pointerdown", (event) => { held = [event.clientX, event.clientY]; canvas.setPointerCapture(event.pointerId); });
  canvas.addEventListener("pointermove", (event) => {
    if (!held) return;
    turn((held[0] - event.clientX) / 150, (event.clientY - held[1]) / 150);
    held = [event.clientX, event.clientY];
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { held = null; });
  canvas.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.shiftKey) return;
    event.preventDefault();
    eye.far = Math.max(reach, Math.min(reach * 5, eye.far * (event.deltaY > 0 || event.deltaX > 0 ? 1.1 : 0.9)));
    show();
  }, { passive: false });
  const lift = figure.querySelector("[data-lift]");
  lift?.addEventListener("input", () => {
    const apart = (Number(lift.value) / 100) * bodies.inner[2] * SCALE * 0.8;
    for (const one of root.children) {
      const layers = one.userData.pack ? 3 : (one.userData.layer ?? 1) - 1;
      one.position.y = one.userData.home + layers * apart;
    }
    show();
  });
  addEventListener("resize", show);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    ({ scene, pivot, root, reach } = sceneOf(three, bodies, colours()));
    show();
  });
  document.fonts.ready.then(() => { ({ scene, pivot, root, reach } = sceneOf(three, bodies, colours())); show(); });
  show();
  figure.classList.add("is-drawn");
}

if (figure) start();
