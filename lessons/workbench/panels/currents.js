// Currents on the diagram: who carries how much, which way, and where the volts go. Width and arrows
// tell it, and figures beside them; colour only helps.
import { h, s } from "./dom.js";
import { segment } from "./parts.js";

const ROOM = 26; // units of a stretch of wire from which a figure has room beside it
const ARROW = "M-6 -6L7 0L-6 6Z";

// 7.1063 -> "7.1 A", 0.1462 -> "146 mA"
export function amps(value) {
  if (value < 0.9995) return `${(1000 * value).toPrecision(value < 0.01 ? 2 : 3)} mA`;
  return `${value.toPrecision(value < 10 ? 2 : 3)} A`;
}

export function volts(value) {
  return value < 0.9995 ? `${Math.round(1000 * value)} mV` : `${value.toFixed(1)} V`;
}

// One moment of the vehicle: the diagram with its currents, and the losses beside it.
export function currentsFigure(bench, name, frame) {
  const sound = Boolean(bench.local.sound && frame.sound);
  const flows = (sound ? frame.sound : frame.flows) || [];
  const { drawing } = bench;
  const odd = frame.losses.filter((loss) => loss.odd);
  return h(
    "div.hs-currents",
    { "data-key": name },
    h(
      "div.hs-row.hs-currents-head",
      {},
      frame.sound &&
        segment(
          "Vehicle",
          [
            { key: "this", label: "This vehicle" },
            { key: "sound", label: "A sound one" },
          ],
          sound ? "sound" : "this",
          (which) => bench.remember({ sound: which === "sound" }),
        ),
      h("p.hs-note", {}, told(flows, sound)),
    ),
    h(
      "div.hs-currents-paper",
      { tabindex: "0", role: "group", "aria-label": "Diagram with currents", "data-key": "paper" },
      h(
        "div.hs-currents-sheet",
        { style: `min-width:${Math.round(drawing.width * 0.72)}px;max-width:${Math.round(drawing.width * 1.1)}px` },
        h("div.hs-currents-drawing", { "data-keep": "true", "aria-hidden": "true", html: drawing.svg }),
        s(
          "svg",
          {
            class: "hs-flows",
            viewBox: `0 0 ${drawing.width} ${drawing.height}`,
            "aria-hidden": "true",
            "data-key": "flows",
          },
          s("g", { class: "hs-flow-bands" }, flows.map(flowBand)),
          flows.map(flowDashes),
          flows.filter((flow) => flow.label).map(flowFigure),
          !sound && odd.map((loss) => oddMark(drawing, loss)),
          Object.entries(frame.leads || {}).map(([end, point]) => leadMark(drawing, end, point)),
        ),
      ),
    ),
    lossTable(frame),
  );
}

function told(flows, sound) {
  const most = Math.max(0, ...flows.map((flow) => flow.amps));
  const whose = sound ? "On a sound vehicle" : "Here";
  if (!most) return `${whose} no current flows anywhere.`;
  return `${whose} at most ${amps(most)} flow. The broader the band, the more amps; the dashes run with the current.`;
}

// 1 mA to 100 A in widths an eye can tell apart: a decade more, 3.5 units more.
function width(value) {
  return Math.max(2, Math.min(22, 3.5 * (Math.log10(value) + 3.2)));
}

function path(line) {
  return line.map(([x, y], k) => `${k ? "L" : "M"}${x} ${y}`).join("");
}

function flowBand({ line, amps: value }) {
  return s("path", { class: "hs-flow-band", d: path(line), "stroke-width": width(value).toFixed(1) });
}

function flowDashes({ line, amps: value }) {
  const thick = Math.max(1.6, width(value) / 4).toFixed(1);
  return s("path", { class: "hs-flow-dashes", d: path(line), "stroke-width": thick });
}

function longest(line) {
  let best = [line[0], line[1]];
  const length = ([a, b]) => Math.hypot(b[0] - a[0], b[1] - a[1]);
  for (let k = 1; k < line.length; k += 1) {
    const stretch = [line[k - 1], line[k]];
    if (length(stretch) > length(best) + 0.5) best = stretch;
  }
  return { from: best[0], to: best[1], length: length(best) };
}

function flowFigure({ line, amps: value }) {
  const { from, to, length } = longest(line);
  const [x, y] = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
  const turn = (Math.atan2(to[1] - from[1], to[0] - from[0]) * 180) / Math.PI;
  const text = amps(value);
  const level = Math.abs(to[1] - from[1]) < 1;
  const wide = 6.6 * text.length + 10;
  const aside = x - 14 - wide < 2 ? x + 14 : x - 14 - wide;
  const left = level ? x - wide / 2 : aside;
  const top = level ? y + 12 : y - 9;
  return s(
    "g",
    { class: "hs-flow-figure" },
    s("path", { d: ARROW, transform: `translate(${x} ${y}) rotate(${turn.toFixed(0)})` }),
    length >= ROOM && s("rect", { x: left, y: top, width: wide, height: 18, rx: 4 }),
    length >= ROOM && s("text", { x: left + wide / 2, y: top + 13, "text-anchor": "middle" }, text),
  );
}

function boxOf(drawing, { name, part }) {
  const box = drawing.parts[name] || drawing.parts[part];
  if (box) return box;
  const line = drawing.wires[part];
  if (!line) return null;
  const { from, to } = longest(line);
  return [(from[0] + to[0]) / 2 - 12, (from[1] + to[1]) / 2 - 12, 24, 24];
}

function oddMark(drawing, loss) {
  const box = boxOf(drawing, loss);
  if (!box) return null;
  const [x, y, wide, high] = box;
  const text = loss.amps < 0.001 ? `${volts(loss.volts)} stand here: no current` : `${volts(loss.volts)} lost here`;
  const room = 6.7 * text.length + 14;
  const left = Math.max(4, Math.min(x + wide + 64, drawing.width - room - 4));
  const middle = y + high / 2;
  return s(
    "g",
    { class: "hs-odd-mark" },
    s("rect", { class: "hs-odd-ring", x: x - 6, y: y - 6, width: wide + 12, height: high + 12, rx: 8 }),
    s("path", { class: "hs-odd-ring", d: `M${x + wide + 6} ${middle}H${left}` }),
    s("rect", { class: "hs-odd-pill", x: left, y: middle - 12, width: room, height: 24, rx: 5 }),
    s("text", { x: left + room / 2, y: middle + 4.5, "text-anchor": "middle" }, text),
  );
}

function leadMark(drawing, end, point) {
  const at = drawing.points[point];
  if (!at) return null;
  const red = end === "red";
  return s(
    "g",
    { class: `hs-lead-mark hs-lead-mark-${end}`, transform: `translate(${at[0]} ${at[1]})` },
    s("path", { d: "M0 0L26 -15" }),
    s("circle", { cx: 34, cy: -19, r: 9.5 }),
    s("text", { x: 34, y: -14.5, "text-anchor": "middle" }, red ? "+" : "−"),
  );
}

// The same in words and figures: for who cannot see the drawing, and for who wants to add it up.
function lossTable({ losses, sound }) {
  if (!losses.length) return h("p.hs-note", { "data-key": "losses" }, "Nothing takes volts: no current flows.");
  const most = Math.max(...losses.map((loss) => loss.volts), 0.001);
  return h(
    "div.hs-losses",
    { "data-key": "losses", tabindex: "0", role: "group", "aria-label": "Where the volts go" },
    h(
      "table",
      {},
      h("caption", {}, "Where the volts go"),
      h(
        "thead",
        {},
        h("tr", {}, ["Part", "Volts", "Amps", "Watts", sound && "Sound"].filter(Boolean).map((head) => h("th", { scope: "col" }, head))),
      ),
      h("tbody", {}, losses.map((loss) => lossRow(loss, most, sound))),
    ),
  );
}

function lossRow(loss, most, sound) {
  const title = loss.title && !loss.name.endsWith(loss.title) ? ` ${loss.title.split(",")[0]}` : "";
  return h(
    "tr",
    { "data-odd": loss.odd ? "true" : undefined },
    h("th", { scope: "row" }, loss.odd && h("b", {}, "▶ "), h("b", {}, loss.name), h("span.hs-soft", {}, title)),
    h(
      "td",
      {},
      h("span.hs-loss-bar", { "aria-hidden": "true" }, h("i", { style: `width:${(100 * loss.volts) / most}%` })),
      volts(loss.volts),
    ),
    h("td", {}, loss.amps < 0.0005 ? "0" : amps(loss.amps)),
    h("td", {}, loss.watts.toFixed(1)),
    sound && h("td.hs-soft", {}, volts(loss.usual)),
  );
}
