// Points that leads can be put on, as real buttons, and the leads themselves drawn on top.
import { h, s, unseen } from "./dom.js";
import { leadSign } from "./parts.js";

// The lead (or jumper end) that the next click puts down.
export function nextEnd(bench) {
  const { meter } = bench.view;
  const index = meter.lead === "red" ? 0 : 1;
  return meter.ends[index];
}

export function endsAt(bench, point) {
  const { meter } = bench.view;
  if (meter.instrument === "clamp") return [];
  return meter.ends.filter((end) => end.point === point);
}

export function pointButton(bench, terminal) {
  if (!terminal.open) return h("span.hs-terminal-shut", { "aria-hidden": "true" });
  const ends = endsAt(bench, terminal.point);
  const clamp = bench.view.meter.instrument === "clamp";
  const end = nextEnd(bench);
  const jumper = bench.view.meter.instrument === "jumper";
  const which = jumper ? `${end.key} end of the jumper` : `${end.key} lead`;
  return h(
    "button.hs-point",
    {
      "data-key": terminal.point,
      "data-point": terminal.point,
      "data-back": terminal.back ? "true" : undefined,
      "aria-label": `${terminal.words}${terminal.back ? ", back-probe" : ""}`,
      "aria-pressed": ends.length ? "true" : "false",
      title: clamp ? terminal.words : `${terminal.words}: put the ${which} here`,
      disabled: clamp || undefined,
      onclick: () => bench.send({ choose: { touch: terminal.point } }),
    },
    h("span.hs-pin", {}, terminal.pin),
    ends.map((one) => [
      leadSign(leadOf(bench, one), { "data-end": one.key }),
      unseen(`${one.key} is here`),
    ]),
  );
}

export function leadOf(bench, end) {
  return bench.view.meter.ends.indexOf(end) === 0 ? "red" : "black";
}

// The leads as curves from where they rest to the instrument; redrawn when anything moves.
export function drawLeads(root) {
  const work = root.querySelector(".hs-work");
  const layer = root.querySelector(".hs-leads");
  if (!work || !layer) return;
  const origin = work.getBoundingClientRect();
  const box = layer.parentNode.querySelector(".hs-middle").getBoundingClientRect();
  layer.setAttribute("viewBox", `0 0 ${origin.width} ${origin.height}`);
  const curves = [];
  for (const lead of ["red", "black"]) {
    const jack = work.querySelector(`.hs-jack.hs-lead-${lead}`);
    for (const sign of work.querySelectorAll(`.hs-point .hs-lead-${lead}`)) {
      const at = sign.getBoundingClientRect();
      if (!jack || !at.width || !inside(at, sign.closest(".hs-paper-scroll"))) continue;
      const from = { x: middle(at).x, y: at.bottom - 1 };
      const plug = jack.getBoundingClientRect();
      curves.push(curve(lead, from, { x: plug.left + 1, y: middle(plug).y }, origin, box));
    }
  }
  layer.replaceChildren(...curves.flat());
}

function inside(at, scroller) {
  if (!scroller) return true;
  const box = scroller.getBoundingClientRect();
  const { x, y } = middle(at);
  return x >= box.left && x <= box.right && y >= box.top && y <= box.bottom;
}

function middle(box) {
  return { x: box.left + box.width / 2, y: box.top + box.height / 2 };
}

// Beside the instrument a lead runs over to it; above or below it hangs out of the picture.
function curve(lead, from, to, origin, box) {
  const a = { x: from.x - origin.left, y: from.y - origin.top };
  const b = { x: to.x - origin.left, y: to.y - origin.top };
  const beside = to.x > box.right;
  const sag = Math.min(70, 24 + Math.abs(b.x - a.x) / 5);
  const end = beside ? b : { x: a.x, y: box.bottom - origin.top };
  const path = beside
    ? `M${a.x} ${a.y}C${a.x + 30} ${a.y + sag} ${b.x - 90} ${b.y + sag} ${end.x} ${end.y}`
    : `M${a.x} ${a.y}V${end.y}`;
  return [
    s("path", { d: path, class: `hs-cable-edge hs-edge-${lead}` }),
    s("path", { d: path, class: `hs-cable hs-cable-${lead}` }),
  ];
}
