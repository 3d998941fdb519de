// Draws charts from the specifications in the page, fits them to their width, and reads them at any hour.
// A page's policy forbids evaluated code: expressions go through the interpreter.

const BASE = 640;
const LETTERS = 1.2;
const drawn = new Map();

function fitted(value, factor) {
  if (Array.isArray(value)) return value.map((one) => fitted(one, factor));
  if (value === null || typeof value !== "object") return value;
  const made = {};
  for (const [key, inner] of Object.entries(value)) {
    if (key === "width" && typeof inner === "number") made[key] = Math.round(inner * factor);
    else if (/fontsize$/i.test(key)) made[key] = inner * LETTERS;
    else made[key] = fitted(inner, factor);
  }
  return made;
}

async function draw(figure) {
  const source = figure.querySelector("script[type='application/json'].spec");
  const place = figure.querySelector(".plot");
  if (!source || !place || !window.vegaLite) return;
  const width = place.clientWidth - 46;
  if (width < 100 || drawn.get(place) === width) return;
  drawn.set(place, width);
  const factor = Math.min(width / BASE, 1.4);
  const spec = fitted({ ...JSON.parse(source.textContent), background: "transparent" }, factor);
  const compiled = window.vegaLite.compile(spec).spec;
  const view = new window.vega.View(window.vega.parse(compiled, null, { ast: true }), {
    expr: window.vega.expressionInterpreter,
    renderer: "svg",
    hover: false,
    logLevel: window.vega.Error,
  });
  await view.initialize(place).runAsync();
  const svg = place.querySelector("svg");
  svg?.setAttribute("aria-hidden", "true");
  figure.classList.add("is-drawn");
  reading(figure, place);
}

// One line over all panels, moved by pointer or by the slider, and what each quantity is there.
function reading(figure, place) {
  const source = figure.querySelector("script.readings");
  const values = source ? JSON.parse(source.textContent) : null;
  if (!values) return;
  const slider = figure.querySelector(".at-hour");
  const table = figure.querySelector(".reads");
  const areas = [...place.querySelectorAll(".mark-group.role-scope > g > .background, .mark-group.role-scope .background")];
  const box = areas.length ? areas[0] : null;
  let line = place.querySelector(".hour-line");
  if (!line) {
    line = document.createElement("span");
    line.className = "hour-line";
    place.append(line);
  }
  slider.max = values.hours.length - 1;
  const last = values.hours[values.hours.length - 1];
  const show = () => {
    const n = Number(slider.value);
    const hour = values.hours[n];
    const leg = values.legs.find(([, from, until]) => hour >= from && hour < until);
    table.querySelector(".hour").textContent = `${hour.toFixed(1)} h after departure${leg ? `: ${leg[0]}` : ""}`;
    table.querySelectorAll("dd").forEach((one, index) => { one.textContent = values.cells[n][index]; });
    if (box) {
      const frame = box.getBoundingClientRect();
      const left = frame.left - place.getBoundingClientRect().left + (hour / last) * frame.width;
      line.style.left = `${left}px`;
    }
  };
  slider.oninput = show;
  place.onpointermove = (event) => {
    if (!box) return;
    const frame = box.getBoundingClientRect();
    const hour = ((event.clientX - frame.left) / frame.width) * last;
    let near = 0;
    values.hours.forEach((one, n) => { if (Math.abs(one - hour) < Math.abs(values.hours[near] - hour)) near = n; });
    slider.value = near;
    show();
  };
  figure.querySelector(".reader").hidden = false;
  show();
}

function drawAll() {
  for (const figure of document.querySelectorAll("figure.chart")) draw(figure);
}

let waiting = 0;
addEventListener("resize", () => { clearTimeout(waiting); waiting = setTimeout(drawAll, 200); });
document.addEventListener("htmx:afterSettle", drawAll);
document.addEventListener("ramet:shown", drawAll);
drawAll();
