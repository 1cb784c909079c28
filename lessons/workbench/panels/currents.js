// Currents on the diagram: who carries how much, which way, and where the volts go. Width and arrows
// tell it, and figures beside them; colour only helps.
import { h, s } from "./dom.js";
import { segment } from "./parts.js";
import { clear, placed } from "./figures.js";
import { language, t } from "./words.js";

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
          t("Vehicle"),
          [
            { key: "this", label: t("This vehicle") },
            { key: "sound", label: t("A sound one") },
          ],
          sound ? "sound" : "this",
          (which) => bench.remember({ sound: which === "sound" }),
        ),
      h("p.hs-note", {}, told(flows, sound)),
    ),
    h(
      "div.hs-scroll-x.hs-currents-paper",
      { tabindex: "0", role: "group", "aria-label": t("Diagram with currents"), "data-key": "paper" },
      h(
        "div.hs-currents-sheet",
        { style: `min-width:${Math.round(drawing.width * 0.72)}px;max-width:${Math.round(drawing.width * 1.1)}px` },
        h("div.hs-currents-drawing", { "data-key": `drawing ${language()}`, "data-keep": "true", "aria-hidden": "true", html: drawing.svg }),
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
          placed(
            drawing,
            flows.filter((flow) => flow.label),
            figureWide,
            marksOf(drawing, frame, sound ? [] : odd),
          ).map(flowFigure),
          !sound && odd.map((loss) => oddMark(drawing, frame, loss)),
          Object.entries(frame.leads || {}).map(([end, point]) => leadMark(drawing, end, point)),
        ),
      ),
    ),
    lossTable(frame),
  );
}

function told(flows, sound) {
  const most = Math.max(0, ...flows.map((flow) => flow.amps));
  if (!most) {
    return sound
      ? t("On a sound vehicle no current flows anywhere.")
      : t("Here no current flows anywhere.");
  }
  const values = { amps: amps(most) };
  return sound
    ? t("On a sound vehicle at most {amps} flow. The broader the band, the more amps; the dashes run with the current.", values)
    : t("Here at most {amps} flow. The broader the band, the more amps; the dashes run with the current.", values);
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

// The arrow stands on the wire; the figure beside it where nothing lies.
function flowFigure({ amps: value, figure }) {
  const { at, from, to, off, box } = figure;
  const [x, y] = at;
  const turn = (Math.atan2(to[1] - from[1], to[0] - from[0]) * 180) / Math.PI;
  const arrow = s("path", { d: ARROW, transform: `translate(${x} ${y}) rotate(${turn.toFixed(0)})` });
  if (!box) return s("g", { class: "hs-flow-figure" }, arrow);
  const [left, top, wide, high] = box;
  const [u, v] = [Math.max(left, Math.min(x, left + wide)), Math.max(top, Math.min(y, top + high))];
  return s(
    "g",
    { class: "hs-flow-figure" },
    off > 20 && s("path", { class: "hs-flow-thread", d: `M${x} ${y}L${u} ${v}` }),
    arrow,
    s("rect", { x: left, y: top, width: wide, height: high, rx: 4 }),
    s("text", { x: left + wide / 2, y: top + 13, "text-anchor": "middle" }, amps(value)),
  );
}

function figureWide({ amps: value }) {
  return 6.6 * amps(value).length + 10;
}

// What lies on the drawing besides its own lines and texts: the marks of losses and of leads.
function marksOf(drawing, frame, odd) {
  const leads = leadBoxes(drawing, frame);
  const pills = odd.map((loss) => oddPlace(drawing, loss, leads)).filter(Boolean);
  return [...pills.flatMap(({ ring, pill }) => [ring, pill]), ...leads];
}

function leadBoxes(drawing, { leads }) {
  const at = Object.values(leads || {}).map((point) => drawing.points[point]);
  return at.filter(Boolean).map(([x, y]) => [leadWay(drawing, x) > 0 ? x - 2 : x - 46, y - 30, 48, 34]);
}

// A lead comes from the right, near the right edge from the left.
function leadWay(drawing, x) {
  return x + 48 > drawing.width ? -1 : 1;
}

function boxOf(drawing, { name, part }) {
  const box = drawing.parts[name] || drawing.parts[part];
  if (box) return box;
  const line = drawing.wires[part];
  if (!line) return null;
  const { from, to } = longest(line);
  return [(from[0] + to[0]) / 2 - 12, (from[1] + to[1]) / 2 - 12, 24, 24];
}

function oddText(loss) {
  const values = { volts: volts(loss.volts) };
  return loss.amps < 0.001
    ? t("{volts} stand here: no current", values)
    : t("{volts} lost here", values);
}

function oddPlace(drawing, loss, leads) {
  const box = boxOf(drawing, loss);
  if (!box) return null;
  const [x, y, wide, high] = box;
  const text = oddText(loss);
  const room = 6.7 * text.length + 14;
  const middle = y + high / 2;
  const ring = [x - 6, y - 6, wide + 12, high + 12];
  const pill = pillPlaces(drawing, ring, room, middle).find((one) => clear(drawing, one, leads));
  return { text, ring, pill: pill || pillPlaces(drawing, ring, room, middle)[0] };
}

function pillPlaces(drawing, [x, y, wide, high], room, middle) {
  const found = [];
  for (const down of [0, -34, 34, -60, 60]) {
    for (const off of [18, 58, 110]) {
      found.push([x + wide + off, middle - 12 + down, room, 24], [x - off - room, middle - 12 + down, room, 24]);
    }
  }
  const inside = ([u, v]) => u > 4 && u + room < drawing.width - 4 && v > 4 && v + 24 < drawing.height - 4;
  const fallback = [Math.max(4, Math.min(x + wide + 58, drawing.width - room - 4)), middle - 12, room, 24];
  return [...found.filter(inside), fallback];
}

function oddMark(drawing, frame, loss) {
  const place = oddPlace(drawing, loss, leadBoxes(drawing, frame));
  if (!place) return null;
  const { text, ring, pill } = place;
  const [x, y, wide, high] = ring;
  const beside = pill[0] > x;
  const from = [beside ? x + wide : x, y + high / 2];
  const to = [beside ? pill[0] : pill[0] + pill[2], pill[1] + 12];
  return s(
    "g",
    { class: "hs-odd-mark" },
    s("rect", { class: "hs-odd-ring", x, y, width: wide, height: high, rx: 8 }),
    s("path", { class: "hs-odd-ring", d: `M${from.join(" ")}L${to.join(" ")}` }),
    s("rect", { class: "hs-odd-pill", x: pill[0], y: pill[1], width: pill[2], height: 24, rx: 5 }),
    s("text", { x: pill[0] + pill[2] / 2, y: pill[1] + 16.5, "text-anchor": "middle" }, text),
  );
}

function leadMark(drawing, end, point) {
  const at = drawing.points[point];
  if (!at) return null;
  const red = end === "red";
  const way = leadWay(drawing, at[0]);
  return s(
    "g",
    { class: `hs-lead-mark hs-lead-mark-${end}`, transform: `translate(${at[0]} ${at[1]})` },
    s("path", { d: `M0 0L${26 * way} -15` }),
    s("circle", { cx: 34 * way, cy: -19, r: 9.5 }),
    s("text", { x: 34 * way, y: -14.5, "text-anchor": "middle" }, red ? "+" : "−"),
  );
}

// The same in words and figures: for who cannot see the drawing, and for who wants to add it up.
function lossTable({ losses, sound }) {
  if (!losses.length) return h("p.hs-note", { "data-key": "losses" }, t("Nothing takes volts: no current flows."));
  const most = Math.max(...losses.map((loss) => loss.volts), 0.001);
  return h(
    "div.hs-losses",
    { "data-key": "losses", tabindex: "0", role: "group", "aria-label": t("Where the volts go") },
    h(
      "table",
      {},
      h("caption", {}, t("Where the volts go")),
      h(
        "thead",
        {},
        h("tr", {}, [t("Part"), t("Volts"), t("Amps"), t("Watts"), sound && t("Sound")].filter(Boolean).map((head) => h("th", { scope: "col" }, head))),
      ),
      h("tbody", {}, losses.map((loss) => lossRow(loss, most, sound))),
    ),
  );
}

function lossRow(loss, most, sound) {
  const title = loss.title && !loss.words.endsWith(loss.title) ? ` ${loss.title.split(",")[0]}` : "";
  return h(
    "tr",
    { "data-odd": loss.odd ? "true" : undefined },
    h("th", { scope: "row" }, loss.odd && h("b", {}, "▶ "), h("b", {}, loss.words), h("span.hs-soft", {}, title, loss.with_contacts && t(", with its contacts"))),
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
