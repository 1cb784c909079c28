// Zooming and moving the diagram by wheel, hand and keys; pointing at its parts.
import { h } from "./dom.js";

const LEAST = 0.3;
const MOST = 3;
const COMFORT = 1; // letters of 12 px stay readable, rings 24 px apart are hit
const SLIP = 4; // px: less is a click

// The whole width where that stays readable.
export function readableZoom(bench) {
  const frame = bench.root.querySelector(".hs-middle");
  const width = frame ? frame.clientWidth - 30 : 0;
  const fit = width / bench.drawing.width;
  return fit > COMFORT ? Math.min(1.25, fit) : COMFORT;
}

function scale(bench) {
  const { zoom } = bench.local;
  if (typeof zoom === "number") return zoom;
  if (zoom !== "fit") return readableZoom(bench);
  const paper = bench.root.querySelector(".hs-paper");
  return paper ? paper.clientWidth / bench.drawing.width : 1;
}

// What lies at `about` (the middle of what is in sight, if not said) stays where it is.
export function zoomTo(bench, zoom, about) {
  const scroller = bench.root.querySelector(".hs-paper-scroll");
  const before = scale(bench);
  const box = scroller.getBoundingClientRect();
  const x = about ? about.x - box.left : box.width / 2;
  const y = about ? about.y - box.top : box.height / 2;
  const at = [(scroller.scrollLeft + x) / before, (scroller.scrollTop + y) / before];
  bench.remember({ zoom });
  const after = scale(bench);
  scroller.scrollLeft = at[0] * after - x;
  scroller.scrollTop = at[1] * after - y;
  bench.draw();
}

export function zoomBy(bench, factor, about) {
  zoomTo(bench, Math.max(LEAST, Math.min(MOST, scale(bench) * factor)), about);
}

// Listens once on the bench: the diagram comes and goes.
export function letDiagramBeMoved(bench, root, tell) {
  const onPaper = (event) => event.target.closest && event.target.closest(".hs-paper-scroll");
  root.addEventListener(
    "wheel",
    (event) => {
      if (!event.ctrlKey || !onPaper(event)) return;
      event.preventDefault();
      const about = { x: event.clientX, y: event.clientY };
      zoomBy(bench, event.deltaY > 0 ? 1 / 1.15 : 1.15, about);
    },
    { passive: false },
  );
  root.addEventListener("keydown", (event) => {
    if (!onPaper(event) || event.target.matches("input, select")) return;
    if (event.key === "+" || event.key === "=") zoomBy(bench, 1.25);
    else if (event.key === "-") zoomBy(bench, 1 / 1.25);
    else if (event.key === "0") zoomTo(bench, "fit");
  });
  root.addEventListener("pointerdown", (event) => {
    const scroller = onPaper(event);
    if (scroller && event.button === 0 && !event.target.closest("button, .hs-card")) {
      grab(bench, scroller, event);
    }
  });
  for (const kind of ["pointerover", "focusin"]) {
    root.addEventListener(kind, (event) => onPaper(event) && point(bench, root, event.target, tell));
  }
}

// A hand on the paper moves it; without moving it is a click on what lies there.
function grab(bench, scroller, start) {
  const [left, top] = [scroller.scrollLeft, scroller.scrollTop];
  let moved = false;
  const move = (event) => {
    const [dx, dy] = [event.clientX - start.clientX, event.clientY - start.clientY];
    moved = moved || Math.hypot(dx, dy) > SLIP;
    if (!moved) return;
    scroller.scrollLeft = left - dx;
    scroller.scrollTop = top - dy;
  };
  const up = () => {
    window.removeEventListener("pointermove", move);
    window.removeEventListener("pointerup", up);
    const part = !moved && start.target.closest("[data-part]");
    if (part) bench.send({ choose: { part: part.getAttribute("data-part") } });
  };
  window.addEventListener("pointermove", move);
  window.addEventListener("pointerup", up);
}

function point(bench, root, target, tell) {
  const owner = target.closest("[data-part], [data-wire], [data-point]");
  const name = owner && nameOf(owner);
  for (const one of root.querySelectorAll(".hs-paper-drawing .pointed")) one.classList.remove("pointed");
  if (!name || !bench.drawing.about[name]) return;
  for (const one of root.querySelectorAll(`[data-part="${name}"], [data-wire="${name}"]`)) {
    one.classList.add("pointed");
  }
  const line = root.querySelector(".hs-about");
  if (line) line.replaceChildren(h("b", {}, name), ` ${bench.drawing.about[name].words} · ${tell(bench, name)}`);
}

function nameOf(owner) {
  const point = owner.getAttribute("data-point");
  if (point) return point.split(".")[0];
  return owner.getAttribute("data-part") || owner.getAttribute("data-wire");
}
