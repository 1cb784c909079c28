// The score sheet: marks with reasons, the own path, suspects after each step, the best path.
import { h, unseen } from "./dom.js";
import { replayPanel } from "./replay.js";
import { percent, price } from "./parts.js";

export function sheetPanel(bench) {
  const { sheet } = bench;
  if (!sheet || !sheet.state) return null;
  if (sheet.state !== "ready") {
    return h(
      "section.hs-panel.hs-sheet",
      { "data-key": "sheet", "aria-label": "Score sheet" },
      h("h3", {}, "Score sheet"),
      h("p", { role: "status", "data-state": sheet.state }, sheet.text),
      sheet.state === "working" && h("progress", { "aria-label": "Working" }),
    );
  }
  return h(
    "section.hs-panel.hs-sheet",
    { "data-key": "sheet", "aria-label": "Score sheet" },
    head(sheet),
    h("ul.hs-marks", {}, sheet.marks.map(mark)),
    h("h4", {}, "Your path, and what each choice gave away against the best one at that moment"),
    path(sheet),
    h("h4", {}, "Step by step on the diagram: who carries the current, and where the volts go"),
    replayPanel(bench, sheet.replay || []),
    h("h4", {}, "What was still possible after each step"),
    matrix(sheet.matrix),
    h("h4", {}, `The best path from the start (par ${sheet.par} min)`),
    h(
      "p.hs-note",
      {},
      "Follow the bold branch: it leads to your cause. Open the others to see what they would have told.",
    ),
    h("div.hs-tree", {}, tree(sheet.tree, true)),
  );
}

function head(sheet) {
  return h(
    "div.hs-sheet-head",
    {},
    h(
      "div",
      {},
      h("h2", {}, `Score sheet · work order ${sheet.order}`),
      h("p", {}, sheet.headline),
    ),
    h("p.hs-clock", {}, h("b", {}, `${sheet.points} / ${sheet.of}`), " points"),
    h(
      "p.hs-note.hs-sheet-minutes",
      {},
      `${sheet.minutes} min on the bench, par ${sheet.par}. Given away by choice beyond what is usual: ${sheet.charged} min; luck: ${sheet.luck} min.`,
    ),
  );
}

function mark({ line, points, of, share, step, reason }) {
  return h(
    "li",
    { "data-full": share >= 1 ? "true" : undefined },
    h("span.hs-mark-line", {}, line),
    h("b.hs-mark-points", {}, `${points} / ${of}`),
    h("span.hs-mark-bar", { "aria-hidden": "true" }, h("i", { style: `width:${100 * share}%` })),
    h("span.hs-mark-reason", {}, step ? `Step ${step}: ` : "", reason),
  );
}

function path(sheet) {
  const worst = Math.max(1, ...sheet.steps.map((step) => step.regret));
  return h(
    "ol.hs-path",
    {},
    sheet.steps.map((step) =>
      h(
        "li",
        { "data-kind": step.kind },
        h("span.hs-number", {}, step.n),
        h(
          "div",
          {},
          h("p", {}, h("b", {}, step.title), step.shown && `: ${step.shown}`),
          h("p.hs-note", {}, comment(step)),
          details(step),
        ),
        h(
          "div.hs-regret",
          {},
          h(
            "span.hs-bar",
            { "aria-hidden": "true", "data-free": step.free ? "true" : undefined },
            h("i", { style: `width:${(100 * step.regret) / worst}%` }),
          ),
          h("span.hs-number", {}, `${step.charged.toFixed(1)} min`, unseen(" given away")),
        ),
      ),
    ),
  );
}

function comment(step) {
  const said = [];
  if (step.harm.length) said.push(`Broken: ${step.harm.join("; ")}.`);
  if (step.kind === "repaired") return "After the repair: free.";
  if (step.free) said.push(`${step.regret.toFixed(1)} min more than the best choice, but free: ${step.free}.`);
  else if (step.charged > 0.05) said.push(`Better here: ${step.best}.`);
  else said.push("Nothing better was to be had.");
  return said.join(" ");
}

function details(step) {
  if (step.kind === "repaired" || step.kind === "handling") return null;
  const { before, after } = step;
  const change =
    before.suspects === after.suspects
      ? `${before.suspects} suspects were possible, and still are`
      : `${before.suspects} suspects were possible, ${after.suspects} after it`;
  return h(
    "details",
    {},
    h("summary", {}, change),
    step.could.length > 0 &&
      h(
        "ul",
        {},
        step.could.map(({ shows, chance, left, was }) =>
          h(
            "li",
            {},
            was ? h("b", {}, `${shows} (it did)`) : shows,
            `: ${percent(chance)} likely, would leave ${left}`,
          ),
        ),
      ),
    h("p", {}, h("b", {}, "Left in: "), after.units.join(", ")),
  );
}

function matrix({ columns, rows }) {
  return h(
    "div.hs-scroll-x",
    { tabindex: "0", role: "group", "aria-label": "Suspects after each step" },
    h(
      "table.hs-matrix",
      {},
      h(
        "thead",
        {},
        h("tr", {}, h("th", { scope: "col" }, "Unit"), columns.map((c) => h("th", { scope: "col" }, c))),
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
      "Filled: still possible; the wider, the likelier. ○ you had struck it. ! you had struck it before the evidence allowed it. Columns are steps that told something.",
    ),
  );
}

function cell([share, sign]) {
  const early = sign === "early";
  return h(
    "td",
    {},
    unseen(share > 0 ? percent(share) : "ruled out"),
    share > 0 && h("i", { style: `width:${Math.round(6 + 30 * share)}px`, "aria-hidden": "true" }),
    sign === "struck" && h("span", { "aria-hidden": "true" }, "○"),
    early && h("b", {}, "!", unseen(" struck too early")),
  );
}

function tree(node, open) {
  if (node.unit) return h("span.hs-leaf", { "data-on": on(node) }, `→ repair ${node.unit}`);
  if (node.repair) {
    return h(
      "div",
      {},
      h("span.hs-leaf", { "data-on": on(node) }, `→ repair ${node.repair}; complaint still there?`),
      branchList([["still there", node.wrong]], open),
    );
  }
  return h(
    "details",
    { open: open && node.on, "data-on": on(node) },
    h("summary", {}, h("b", {}, node.test), price(node.minutes)),
    branchList(node.branches, open),
  );
}

function branchList(branches, open) {
  return h(
    "ul",
    {},
    branches.map(([label, node]) =>
      h(
        "li",
        { "data-on": on(node) },
        h("span.hs-branch", {}, label),
        tree(node, open && node.on),
      ),
    ),
  );
}

function on(node) {
  return node.on ? "true" : undefined;
}
