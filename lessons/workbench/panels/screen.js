// The oscilloscope's screen: curves that zoom, and two cursors that measure.
import { h } from "./dom.js";
import { drawCurves, engineering, shareAt, valueAt } from "./plot.js";
import { msg, t } from "./words.js";

const WHOLE = { from: 0, to: 1 };
const CURSORS = [0.25, 0.75];
const FINEST = 0.01; // share of the width that fills the screen
const NEAR = 0.02; // share of the screen within which a cursor is taken hold of

// Zoom and cursors belong to one reading; the next one begins whole again.
function state(bench, readout) {
  const held = bench.local.screen;
  if (held && held.entry === readout.entry) return held;
  return { entry: readout.entry, span: WHOLE, cursors: CURSORS };
}

function change(bench, readout, changes) {
  bench.remember({ screen: { ...state(bench, readout), ...changes } });
}

export function screenPanel(bench, readout) {
  const { screen } = readout;
  const { span, cursors } = state(bench, readout);
  const [one, two] = cursors.map((share) => share * screen.seconds);
  return h(
    "section.hs-panel.hs-screen",
    { "data-key": "screen", "aria-label": t("Oscilloscope") },
    h(
      "div.hs-middle-head",
      {},
      h("h3", {}, t("Oscilloscope, step {n}", { n: readout.n })),
      zoomButtons(bench, readout, span),
    ),
    h("canvas.hs-canvas", {
      "data-keep": "true",
      "data-lanes": screen.curves.length,
      role: "img",
      "aria-label": curvesWords(screen),
    }),
    h(
      "div.hs-cursors",
      {},
      cursors.map((share, index) => cursorRange(bench, readout, share, index)),
    ),
    h(
      "div.hs-scroll-x",
      { tabindex: "0", role: "group", "aria-label": t("Figures of the screen") },
      figures(screen, readout, cursors, one, two),
    ),
  );
}

function curvesWords({ curves, seconds }) {
  const values = { one: curves[0] && curves[0].name, two: curves[1] && curves[1].name, time: engineering(seconds, "s") };
  return curves.length > 1
    ? t("Curves of channel {one} and channel {two} over {time}; the figures stand in the table", values)
    : t("Curves of channel {one} over {time}; the figures stand in the table", values);
}

function zoomButtons(bench, readout, span) {
  const zoom = (factor, shift) => () => change(bench, readout, { span: zoomed(span, factor, 0.5, shift) });
  const buttons = [
    [t("Zoom in"), "+", zoom(0.5, 0)],
    [t("Zoom out"), "−", zoom(2, 0)],
    [t("Earlier"), "◂", zoom(1, -0.25)],
    [t("Later"), "▸", zoom(1, 0.25)],
    [t("Whole screen"), t("whole"), () => change(bench, readout, { span: WHOLE })],
  ];
  return h(
    "div.hs-segment",
    { role: "group", "aria-label": t("Zoom of the screen") },
    buttons.map(([label, sign, onclick]) =>
      h("button", { "data-key": label, "aria-label": label, title: label, onclick }, sign),
    ),
  );
}

function zoomed({ from, to }, factor, about, shift) {
  const width = Math.min(1, Math.max(FINEST, (to - from) * factor));
  const middle = from + (to - from) * (about + shift);
  const start = Math.max(0, Math.min(1 - width, middle - width * about));
  return { from: start, to: start + width };
}

function cursorRange(bench, readout, share, index) {
  const id = bench.id(`cursor ${index}`);
  const { seconds } = readout.screen;
  return h(
    "div.hs-knob",
    { "data-key": `cursor ${index}` },
    h("label.hs-label", { for: id }, t("Cursor {n}", { n: index + 1 })),
    h("input", {
      id,
      type: "range",
      min: 0,
      max: 1000,
      "data-value": Math.round(share * 1000),
      "aria-valuetext": engineering(share * seconds, "s"),
      oninput: (event) => moveCursor(bench, readout, index, event.target.value / 1000),
    }),
    h("span.hs-number", {}, engineering(share * seconds, "s")),
  );
}

function moveCursor(bench, readout, index, share) {
  const cursors = [...state(bench, readout).cursors];
  cursors[index] = share;
  change(bench, readout, { cursors });
}

function figures(screen, readout, cursors, one, two) {
  const also = new Map(readout.also);
  const names = [msg("mean"), msg("minimum"), msg("maximum"), msg("peak to peak"), msg("frequency"), msg("duty")];
  const apart = Math.abs(two - one);
  const rows = screen.curves.map((curve) => {
    const [a, b] = cursors.map((share) => valueAt(curve.values, share));
    const read = [a, b, b - a].map((value) => engineering(value, curve.unit));
    return h(
      "tr",
      { "data-key": curve.name },
      h("th", { scope: "row" }, `${curve.name}`),
      names.map((name) => h("td.hs-number", {}, also.get(`${curve.name} ${name}`) || "–")),
      read.map((text) => h("td.hs-number", {}, text)),
    );
  });
  const heads = ["", ...names.map((name) => t(name)), t("at 1"), t("at 2"), t("2 less 1")];
  const between = { time: engineering(apart, "s"), hertz: apart && engineering(1 / apart, "Hz") };
  return [
    h(
      "table.hs-figures-table",
      {},
      h(
        "thead",
        {},
        h("tr", {}, heads.map((head) => (head ? h("th", { scope: "col" }, head) : h("td", {})))),
      ),
      h("tbody", {}, rows),
    ),
    h("p.hs-note", {}, apart
        ? t("From cursor 1 to cursor 2: {time}, {hertz} if that is a period.", between)
        : t("From cursor 1 to cursor 2: {time}.", between)),
  ];
}

// After every drawing of the page; how long the last took is kept for whoever measures.
export function drawScreen(bench) {
  const canvas = bench.root.querySelector(".hs-canvas");
  const { readout } = bench.view;
  if (!canvas || !readout || !readout.screen) return;
  const { span, cursors } = state(bench, readout);
  const begun = performance.now();
  drawCurves(canvas, readout.screen, span, cursors, colours(canvas));
  canvas.setAttribute("data-took", (performance.now() - begun).toFixed(2));
  canvas.onwheel = (event) => {
    event.preventDefault();
    const now = state(bench, readout).span;
    const about = (shareAt(canvas, now, event.clientX) - now.from) / (now.to - now.from);
    change(bench, readout, { span: zoomed(now, event.deltaY > 0 ? 1.25 : 0.8, about, 0) });
  };
  canvas.onpointerdown = (event) => take(bench, readout, canvas, event);
}

// A cursor that is near goes along; anywhere else the curve itself is moved.
function take(bench, readout, canvas, start) {
  const { span, cursors } = state(bench, readout);
  const at = shareAt(canvas, span, start.clientX);
  const width = span.to - span.from;
  const index = Math.abs(cursors[0] - at) <= Math.abs(cursors[1] - at) ? 0 : 1;
  const cursor = Math.abs(cursors[index] - at) < NEAR * width;
  canvas.setPointerCapture(start.pointerId);
  canvas.onpointermove = (event) => {
    const share = shareAt(canvas, span, event.clientX);
    if (cursor) moveCursor(bench, readout, index, share);
    else {
      const from = Math.max(0, Math.min(1 - width, span.from + at - share));
      change(bench, readout, { span: { from, to: from + width } });
    }
  };
  canvas.onpointerup = () => {
    canvas.onpointermove = null;
  };
}

function colours(element) {
  const style = getComputedStyle(element);
  const of = (name) => style.getPropertyValue(`--hs-${name}`).trim();
  return {
    ink: of("ink"),
    soft: of("soft"),
    line: of("line"),
    edge: of("edge"),
    paper: of("paper"),
    mono: of("mono") || "monospace",
    A: of("channel-a"),
    B: of("channel-b"),
  };
}
