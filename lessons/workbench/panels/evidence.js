// The evidence: a line for every step, with the student's own note beside it.
import { h, lazily } from "./dom.js";
import { t } from "./words.js";

export function evidencePanel(bench) {
  const { evidence, mode } = bench.view;
  return h(
    "section.hs-panel.hs-evidence",
    { "data-key": "evidence", "aria-label": t("Evidence") },
    h(
      "div.hs-middle-head",
      {},
      h("h3", {}, t("Evidence")),
      h(
        "div.hs-row",
        {},
        saveButton(bench, "csv", t("Save as table (CSV)")),
        mode === "case" && saveButton(bench, "report", t("Work-order report, to print")),
      ),
    ),
    comparison(bench, evidence),
    evidence.length
      ? h(
          "div.hs-scroll",
          { tabindex: "0", role: "group", "aria-label": t("Evidence, line by line") },
          table(bench, evidence, mode),
        )
      : h("p.hs-note", {}, t("Every step is kept here, with its conditions and what it took.")),
  );
}

function table(bench, evidence, mode) {
  const priced = mode === "case";
  const expects = evidence.some((line) => line.expected);
  const heads = ["#", t("What you did"), t("Conditions"), expects && t("Expected"), t("Showed")];
  if (priced) heads.push(t("Min"), t("What it tells you"));
  heads.push(t("Compare"));
  return h(
    "table",
    {},
    h("thead", {}, h("tr", {}, heads.filter(Boolean).map((head) => h("th", { scope: "col" }, head)))),
    h(
      "tbody",
      {},
      evidence.map((line) => {
        const ticked = (bench.local.compare || []).includes(line.entry);
        const state = [line, priced, expects, ticked, bench.view.order && bench.view.order.closed];
        const properties = { "data-key": `line ${line.entry}`, "data-kind": line.kind };
        return lazily("tr", properties, state, () => [
          h("td.hs-number", {}, line.n),
          h("td", {}, line.what),
          h("td.hs-soft", {}, line.conditions),
          expects && h("td", {}, line.expected),
          h(
            "td.hs-shown",
            {},
            line.reading,
            line.harm.map((what) => h("span.hs-harm", {}, " ", t("Broken: {what}", { what }))),
          ),
          priced && h("td.hs-number", {}, line.minutes),
          priced && h("td", {}, note(bench, line)),
          h("td.hs-compare-cell", {}, line.reading && compareBox(bench, line)),
        ]);
      }),
    ),
  );
}

function note(bench, line) {
  return h("input.hs-own-note", {
    type: "text",
    "aria-label": t("Your note on step {n}", { n: line.n }),
    "data-value": line.note,
    placeholder: t("your note"),
    disabled: bench.view.order.closed,
    onchange: (event) => bench.send({ note: event.target.value, step: line.entry }),
  });
}

function saveButton(bench, kind, label) {
  return h(
    "button.hs-quiet.hs-small",
    { "data-key": kind, onclick: () => bench.send({ save: kind }) },
    label,
  );
}

// The two lines that were ticked last stand side by side.
function compareBox(bench, line) {
  const chosen = bench.local.compare || [];
  const on = chosen.includes(line.entry);
  return h(
    "button.hs-tick",
    {
      "aria-pressed": on ? "true" : "false",
      "aria-label": t("Compare step {n}", { n: line.n }),
      onclick: () => {
        const now = (bench.local.compare || []).filter((entry) => entry !== line.entry);
        bench.remember({ compare: on ? now : [...now, line.entry].slice(-2) });
      },
    },
    on ? "✓" : "",
  );
}

function comparison(bench, evidence) {
  const chosen = (bench.local.compare || [])
    .map((entry) => evidence.find((line) => line.entry === entry))
    .filter(Boolean)
    .sort((one, two) => one.n - two.n);
  if (!chosen.length) return null;
  const rows = [
    [t("Done"), "what"],
    [t("Conditions"), "conditions"],
    [t("Showed"), "reading"],
    [t("Your note"), "note"],
  ];
  return h(
    "div.hs-comparison",
    { "data-key": "comparison", role: "group", "aria-label": t("Two steps compared") },
    chosen.length < 2
      ? h("p.hs-note", {}, t("Step {n} is ticked. Tick another to compare them.", { n: chosen[0].n }))
      : h(
          "table",
          {},
          h(
            "thead",
            {},
            h("tr", {}, h("td", {}), chosen.map((line) => h("th", { scope: "col" }, t("Step {n}", { n: line.n })))),
          ),
          h(
            "tbody",
            {},
            rows.map(([title, key]) => {
              const [one, two] = chosen.map((line) => line[key]);
              return h(
                "tr",
                { "data-key": key, "data-differs": one !== two ? "true" : undefined },
                h("th", { scope: "row" }, title, one === two && one && h("span.hs-note", {}, ` ${t("(same)")}`)),
                h("td", {}, one || "–"),
                h("td", {}, two || "–"),
              );
            }),
            difference(chosen),
          ),
        ),
  );
}

// Numbers in one unit are taken from each other.
function difference([one, two]) {
  const [a, b] = [one.number, two.number];
  if (!a || !b || a.unit !== b.unit) return null;
  const less = Number((b.value - a.value).toPrecision(4));
  return h(
    "tr",
    { "data-key": "difference" },
    h("th", { scope: "row" }, t("Step {two} less step {one}", { two: two.n, one: one.n })),
    h("td.hs-shown", { colspan: 2 }, `${less > 0 ? "+" : ""}${less} ${b.unit}`),
  );
}
