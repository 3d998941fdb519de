// Dragging a piece onto a spot does what choosing the two does: it sends the same form.
const drawing = document.querySelector(".tank-drawing");
const form = document.querySelector("#drop");
let held = null;

function spotAt(event) {
  return document.elementsFromPoint(event.clientX, event.clientY).map((one) => one.closest("[data-spot]")).find(Boolean);
}

function point(svg, event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
}

document.addEventListener("pointerdown", (event) => {
  const piece = event.target.closest(".tank-drawing [data-piece]");
  if (!piece || event.button) return;
  held = { piece, from: [event.clientX, event.clientY], moved: false };
});
document.addEventListener("dragstart", (event) => { if (held) event.preventDefault(); });
document.addEventListener("pointermove", (event) => {
  if (!held) return;
  if (!held.moved && Math.hypot(event.clientX - held.from[0], event.clientY - held.from[1]) < 8) return;
  held.moved = true;
  drawing.classList.add("is-dragging");
  const at = point(drawing.querySelector("svg"), event);
  held.piece.querySelector("g").setAttribute("transform", `translate(${at.x} ${at.y})`);
  held.piece.setAttribute("pointer-events", "none");
  for (const one of drawing.querySelectorAll(".over")) one.classList.remove("over");
  spotAt(event)?.classList.add("over");
});
document.addEventListener("pointerup", (event) => {
  if (!held) return;
  const { piece, moved } = held;
  held = null;
  drawing.classList.remove("is-dragging");
  if (!moved) return;
  piece.removeAttribute("pointer-events");
  document.addEventListener("click", (click) => { click.preventDefault(); click.stopPropagation(); }, { capture: true, once: true });
  const spot = spotAt(event);
  if (!spot) { location.reload(); return; }
  form.elements.piece.value = piece.dataset.piece;
  form.elements.spot.value = spot.dataset.spot;
  form.hidden = false;
  form.requestSubmit();
});
document.addEventListener("pointercancel", () => { held = null; });
