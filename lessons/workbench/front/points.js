// Points that leads can be put on, as real buttons, and the leads themselves drawn on top.
import { h, s, unseen } from "./dom.js";
import { leadSign } from "./parts.js";
import { msg, t } from "./words.js";

// "red", "A red" and "one" are the first of their pair.
export function isFirst(end) {
  return /(^|\s)(red|one)$/.test(end);
}

// How an end is drawn: which colour and shape, and the channel where there are two.
export function signOf(end) {
  const channel = /^([A-Z]) /.exec(end);
  return { first: isFirst(end), channel: channel ? channel[1] : "" };
}

const ENDS = {
  red: msg("Red lead"),
  black: msg("Black lead"),
  clamp: msg("Clamp"),
  one: msg("Jumper, one end"),
  other: msg("Jumper, other end"),
};

export function endName(meter, key) {
  if (key in ENDS) return t(ENDS[key]);
  const [channel, lead] = key.split(" ");
  return t("{channel}, {lead}", { channel, lead: t(ENDS[lead]) });
}

// The same in a sentence: "red", "A red", "one".
export function endWord(key) {
  const [first, second] = key.split(" ");
  return second ? `${first} ${t(WORDS[second])}` : t(WORDS[first]);
}

const WORDS = {
  red: msg("red"),
  black: msg("black"),
  clamp: msg("clamp"),
  one: msg("one"),
  other: msg("other"),
};

export function endsAt(bench, point) {
  return bench.view.meter.ends.filter((end) => end.point === point);
}

export function pointButton(bench, terminal) {
  if (!terminal.open) return h("span.hs-terminal-shut", { "aria-hidden": "true" });
  const { meter, diagram } = bench.view;
  const ends = endsAt(bench, terminal.point);
  const free = meter.ends.length === 0;
  const jumped = diagram.bridge.includes(terminal.point);
  return h(
    "button.hs-point",
    {
      "data-key": terminal.point,
      "data-point": terminal.point,
      "data-back": terminal.back ? "true" : undefined,
      "aria-label": terminal.back ? t("{point}, back-probe", { point: terminal.words }) : terminal.words,
      "aria-pressed": ends.length ? "true" : "false",
      title: free
        ? terminal.words
        : t("{point}: put {lead} here", { point: terminal.words, lead: endName(meter, meter.lead) }),
      disabled: free || undefined,
      onclick: () => bench.send({ choose: { touch: terminal.point } }),
    },
    h("span.hs-pin", {}, terminal.pin),
    ends.map((one) => [
      leadSign(signOf(one.key), { "data-end": one.key, "data-drag": one.key }),
      unseen(t("{lead} is here", { lead: endWord(one.key) })),
    ]),
    jumped && [h("span.hs-jumped", { "aria-hidden": "true" }, "J"), unseen(t("the jumper is here"))],
  );
}

// The leads as curves from where they rest to the instrument; redrawn when anything moves.
export function drawLeads(root) {
  const work = root.querySelector(".hs-work");
  const layer = root.querySelector(".hs-leads");
  if (!work || !layer) return;
  const origin = work.getBoundingClientRect();
  const box = layer.parentNode.querySelector(".hs-middle").getBoundingClientRect();
  const size = `0 0 ${origin.width} ${origin.height}`;
  if (layer.getAttribute("viewBox") !== size) layer.setAttribute("viewBox", size);
  const curves = [];
  for (const sign of work.querySelectorAll(".hs-point [data-end]")) {
    const end = sign.getAttribute("data-end");
    const jack = work.querySelector(`[data-jack="${end}"]`);
    const at = sign.getBoundingClientRect();
    if (!jack || !at.width || !inside(at, sign.closest(".hs-paper-scroll"))) continue;
    const from = { x: middle(at).x, y: at.bottom - 1 };
    const plug = jack.getBoundingClientRect();
    const lead = isFirst(end) ? "red" : "black";
    curves.push(curve(lead, from, { x: plug.left + 1, y: middle(plug).y }, origin, box));
  }
  curves.push(jumper(work, origin));
  const drawn = curves.flat();
  const before = [...layer.childNodes];
  const same = before.length === drawn.length && drawn.every((one, k) => one.isEqualNode(before[k]));
  if (!same) layer.replaceChildren(...drawn); // what lies over everything is costly to draw anew
}

// The jumper, where both of its tips are in sight.
function jumper(work, origin) {
  const tips = [...work.querySelectorAll(".hs-jumped")]
    .map((tip) => [tip, tip.getBoundingClientRect()])
    .filter(([tip, at]) => at.width && inside(at, tip.closest(".hs-paper-scroll")))
    .map(([_tip, at]) => ({ x: middle(at).x - origin.left, y: middle(at).y - origin.top }));
  if (tips.length !== 2) return [];
  const [a, b] = tips;
  const sag = 30 + Math.abs(b.x - a.x) / 6;
  const path = `M${a.x} ${a.y}C${a.x} ${a.y + sag} ${b.x} ${b.y + sag} ${b.x} ${b.y}`;
  return [
    s("path", { d: path, class: "hs-cable-edge" }),
    s("path", { d: path, class: "hs-cable hs-cable-jumper" }),
  ];
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
