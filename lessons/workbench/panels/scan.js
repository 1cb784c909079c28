// The scan tool's screen: codes, lines of data, what a unit says, and a graph over the bench's time.
import { h, s, unseen } from "./dom.js";
import { niceStep } from "./plot.js";
import { t } from "./words.js";

const BOX = { left: 46, top: 8, width: 220, height: 110 };
const SIZE = { width: 274, height: 140 };

export function scanScreen({ units }) {
  const properties = { "data-key": "scan", tabindex: "0", role: "group", "aria-label": t("Scan tool's screen") };
  return h("div.hs-scan", properties, units.map(unitScreen));
}

function unitScreen({ unit, title, codes, lines, says, graph }) {
  return h(
    "section.hs-scan-unit",
    { "data-key": `unit ${unit}` },
    unit && h("h4", {}, h("b", {}, unit), ` ${title}`),
    codes.length > 0 && h("ul.hs-scan-codes", { "aria-label": t("Trouble codes") }, codes.map(codeLine)),
    lines.length > 0 && h("dl.hs-scan-lines", {}, lines.map(([name, value]) => [h("dt", {}, name), h("dd", {}, value)])),
    says.map((text) => h("p.hs-scan-says", {}, text)),
    graph && graphFigure(graph),
  );
}

function codeLine([code, title, status]) {
  return h("li", {}, h("b.hs-scan-code", {}, code), h("span", {}, title), h("span.hs-scan-status", {}, status));
}

function caption(name, unit, seconds, values) {
  const low = tidy(Math.min(...values));
  const high = tidy(Math.max(...values));
  const said = unit || t("no unit");
  return t("{name}, {unit}, over {time}: {low} to {high}", { name, unit: said, time: clock(seconds), low, high });
}

function graphFigure({ name, unit, seconds, points }) {
  const known = points.filter(([, value]) => value !== null);
  const values = known.map(([, value]) => value);
  const [low, high] = bounds(values);
  const x = (time) => BOX.left + (BOX.width * time) / seconds;
  const y = (value) => BOX.top + BOX.height * (1 - (value - low) / (high - low));
  return h(
    "figure.hs-scan-graph",
    {},
    s(
      "svg",
      { viewBox: `0 0 ${SIZE.width} ${SIZE.height}`, "aria-hidden": "true" },
      marks(low, high, 4).map((value) => [
        s("path", { class: "hs-scan-grid", d: `M${BOX.left} ${y(value)}h${BOX.width}` }),
        s("text", { x: BOX.left - 5, y: y(value) + 4, "text-anchor": "end" }, tidy(value)),
      ]),
      moments(seconds).map((time) =>
        s("text", { x: x(time), y: SIZE.height - 6, "text-anchor": x(time) > SIZE.width - 30 ? "end" : "middle" }, clock(time)),
      ),
      s("rect", { class: "hs-scan-frame", x: BOX.left, y: BOX.top, width: BOX.width, height: BOX.height }),
      stretches(points).map((part) =>
        s("path", { class: "hs-scan-line", d: part.map(([t, v], k) => `${k ? "L" : "M"}${x(t)} ${y(v)}`).join("") }),
      ),
      known.map(([time, value]) => s("circle", { class: "hs-scan-dot", cx: x(time), cy: y(value), r: 2.6 })),
    ),
    h("figcaption", {}, caption(name, unit, seconds, values)),
    h(
      "details.hs-more",
      {},
      h("summary", {}, t("Figures of the graph")),
      h(
        "table",
        {},
        h("thead", {}, h("tr", {}, h("th", { scope: "col" }, t("After")), h("th", { scope: "col" }, `${name}${unit ? `, ${unit}` : ""}`))),
        h(
          "tbody",
          {},
          points.map(([time, value]) =>
            h("tr", {}, h("th", { scope: "row" }, clock(time)), h("td", {}, value === null ? ["–", unseen(t("no number"))] : tidy(value))),
          ),
        ),
      ),
    ),
  );
}

// Where nothing was said the line is broken.
function stretches(points) {
  const found = [[]];
  for (const point of points) {
    if (point[1] === null) found.push([]);
    else found[found.length - 1].push(point);
  }
  return found.filter((part) => part.length > 1);
}

function bounds(values) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = Math.max((high - low) * 0.1, Math.abs(high) * 0.02, 0.02);
  return [low - room, high + room];
}

function marks(low, high, most) {
  const step = niceStep(high - low, most);
  const found = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high * (1 + 1e-9); k += 1) found.push(k * step);
  return found;
}

// Marks of the time axis, in whole minutes where it is that long.
function moments(seconds) {
  const unit = seconds >= 120 ? 60 : 1;
  return marks(0, seconds / unit, 3).map((time) => time * unit);
}

function tidy(value) {
  return String(Number(value.toPrecision(5)));
}

function clock(seconds) {
  return seconds >= 60 ? `${tidy(seconds / 60)} min` : `${tidy(seconds)} s`;
}
