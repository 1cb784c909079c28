// Leads that are dragged: from the instrument or from a point to another point, or into the air.
import { s } from "./dom.js";

const SLIP = 5; // px: less is a click

export function letLeadsBeDragged(bench, root) {
  root.addEventListener("pointerdown", (event) => {
    const sign = event.button === 0 && event.target.closest("[data-drag]");
    if (!sign || !root.querySelector(".hs-leads")) return;
    follow(bench, root, sign, event);
  });
}

function follow(bench, root, sign, start) {
  const end = sign.getAttribute("data-drag");
  const from = sign.getBoundingClientRect();
  const held = Boolean(sign.closest(".hs-point"));
  let line = null;
  const move = (event) => {
    if (!line && Math.hypot(event.clientX - start.clientX, event.clientY - start.clientY) < SLIP) {
      return;
    }
    line = line || ghost(root, end);
    const origin = root.querySelector(".hs-work").getBoundingClientRect();
    const [x1, y1] = [from.left + from.width / 2 - origin.left, from.top + from.height / 2 - origin.top];
    const [x2, y2] = [event.clientX - origin.left, event.clientY - origin.top];
    line.setAttribute("d", `M${x1} ${y1}C${x1} ${y1 + 40} ${x2} ${y2 + 60} ${x2} ${y2}`);
    event.preventDefault();
  };
  const drop = (event) => {
    window.removeEventListener("pointermove", move);
    window.removeEventListener("pointerup", drop);
    window.removeEventListener("pointercancel", drop);
    if (!line) return;
    line.remove();
    swallowClick();
    if (event.type === "pointercancel") return;
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const point = nearest(root, under, event);
    if (point) bench.send({ choose: { [end]: point.getAttribute("data-point") } });
    else if (held) bench.send({ choose: { [end]: "" } });
  };
  window.addEventListener("pointermove", move);
  window.addEventListener("pointerup", drop);
  window.addEventListener("pointercancel", drop);
}

// The click that ends a drag is not a click on what lies there.
function swallowClick() {
  const swallow = (event) => event.stopPropagation();
  window.addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => window.removeEventListener("click", swallow, { capture: true }), 0);
}

// A hand is not steady: a point within half a finger's breadth will do.
const REACH = 16; // px

function nearest(root, under, { clientX, clientY }) {
  const direct = under && under.closest(".hs-point:not(:disabled)");
  if (direct && root.contains(direct)) return direct;
  let best = null;
  let gap = REACH;
  for (const point of root.querySelectorAll(".hs-point:not(:disabled)")) {
    const box = point.getBoundingClientRect();
    if (!box.width) continue;
    const away = Math.hypot(box.left + box.width / 2 - clientX, box.top + box.height / 2 - clientY);
    if (away < gap) [best, gap] = [point, away];
  }
  return best;
}

function ghost(root, end) {
  const lead = /(red|one)$/.test(end) ? "red" : "black";
  const line = s("path", { class: `hs-cable hs-cable-${lead} hs-cable-held` });
  root.querySelector(".hs-leads").append(line);
  return line;
}
