// The score sheet: marks with reasons, own path and best path, the replay, suspects after each step.
import { h, unseen } from "./dom.js";
import { replayPanel } from "./replay.js";
import { percent } from "./parts.js";
import { ownPath } from "./steps.js";
import { twoPaths, wholeTree } from "./paths.js";
import { t, weave } from "./words.js";

export function sheetPanel(bench) {
  const { sheet } = bench;
  if (!sheet || !sheet.state) return null;
  if (sheet.state !== "ready") {
    return h(
      "section.hs-panel.hs-sheet",
      { "data-key": "sheet", "aria-label": t("Score sheet"), tabindex: "-1" },
      h("h3", {}, t("Score sheet")),
      h("p", { role: "status", "data-state": sheet.state }, sheet.text),
      sheet.state === "working" && h("progress", { "aria-label": t("Working") }),
    );
  }
  return h(
    "section.hs-panel.hs-sheet",
    { "data-key": "sheet", "aria-label": t("Score sheet"), tabindex: "-1" },
    head(sheet),
    h("ul.hs-marks", {}, sheet.marks.map(mark)),
    h("h4", {}, t("Your path, and what each choice gave away against the best one at that moment")),
    ownPath(sheet),
    h("h4", {}, t("Your path beside the best one to this cause (par {par} min)", { par: sheet.par })),
    twoPaths(sheet),
    h("h4", {}, t("Step by step on the diagram: who carries the current, and where the volts go")),
    replayPanel(bench, sheet.replay || []),
    h("h4", {}, t("What was still possible after each step")),
    matrix(sheet.matrix),
    wholeTree(sheet),
  );
}

function head(sheet) {
  return h(
    "div.hs-sheet-head",
    {},
    h(
      "div",
      {},
      h("h2", {}, t("Score sheet · work order {number}", { number: sheet.order })),
      h("p", {}, sheet.headline),
    ),
    h("p.hs-clock", {}, weave("{points} points", { points: h("b", {}, `${sheet.points} / ${sheet.of}`) })),
    h(
      "p.hs-note.hs-sheet-minutes",
      {},
      t("{minutes} min on the bench, par {par}. Given away by choice beyond what is usual: {charged} min; luck: {luck} min.", sheet),
    ),
    h("p.hs-note.hs-sheet-standing", {}, sheet.standing),
  );
}

function mark({ line, points, of, share, step, after, reason }) {
  return h(
    "li",
    { "data-full": share >= 1 ? "true" : undefined },
    h("span.hs-mark-line", {}, line),
    h("b.hs-mark-points", {}, `${points} / ${of}`),
    h("span.hs-mark-bar", { "aria-hidden": "true" }, h("i", { style: `width:${100 * share}%` })),
    h("span.hs-mark-reason", {}, at(step, after, reason)),
  );
}

function at(step, after, what) {
  if (step === null) return what;
  if (!after) return t("Step {n}: {what}", { n: step, what });
  return step ? t("After step {n}: {what}", { n: step, what }) : t("Before step 1: {what}", { what });
}

function matrix({ columns, rows }) {
  return h(
    "div.hs-scroll-x",
    { tabindex: "0", role: "group", "aria-label": t("Suspects after each step") },
    h(
      "table.hs-matrix",
      {},
      h(
        "thead",
        {},
        h("tr", {}, h("th", { scope: "col" }, t("Unit")), columns.map((c) => h("th", { scope: "col" }, c))),
      ),
      h(
        "tbody",
        {},
        rows.map(({ unit, cells }) =>
          h("tr", {}, h("th", { scope: "row" }, unit), cells.map(cell)),
        ),
      ),
    ),
    h(
      "p.hs-note",
      {},
      t("Filled: still possible; the wider, the likelier. ○ you had struck it. ! you had struck it before the evidence allowed it. Columns are steps that told something."),
    ),
  );
}

function cell([share, sign]) {
  const early = sign === "early";
  return h(
    "td",
    {},
    unseen(share > 0 ? percent(share) : t("ruled out")),
    share > 0 && h("i", { style: `width:${Math.round(6 + 30 * share)}px`, "aria-hidden": "true" }),
    sign === "struck" && h("span", { "aria-hidden": "true" }, "○"),
    early && h("b", {}, "!", unseen(` ${t("struck too early")}`)),
  );
}
