// The evidence: a line for every step, with the student's own note beside it.
import { h } from "./dom.js";

export function evidencePanel(bench) {
  const { evidence, mode } = bench.view;
  return h(
    "section.hs-panel.hs-evidence",
    { "data-key": "evidence", "aria-label": "Evidence" },
    h("h3", {}, "Evidence"),
    evidence.length
      ? h(
          "div.hs-scroll",
          { tabindex: "0", role: "group", "aria-label": "Evidence, line by line" },
          table(bench, evidence, mode),
        )
      : h("p.hs-note", {}, "Every step is kept here, with its conditions and what it took."),
  );
}

function table(bench, evidence, mode) {
  const priced = mode === "case";
  const expects = evidence.some((line) => line.expected);
  const heads = ["#", "What you did", "Conditions", expects && "Expected", "Showed"];
  if (priced) heads.push("Min", "What it tells you");
  return h(
    "table",
    {},
    h("thead", {}, h("tr", {}, heads.filter(Boolean).map((head) => h("th", { scope: "col" }, head)))),
    h(
      "tbody",
      {},
      evidence.map((line) =>
        h(
          "tr",
          { "data-key": `line ${line.entry}`, "data-kind": line.kind },
          h("td.hs-number", {}, line.n),
          h("td", {}, line.what),
          h("td.hs-soft", {}, line.conditions),
          expects && h("td", {}, line.expected),
          h(
            "td.hs-shown",
            {},
            line.reading,
            line.harm.map((text) => h("span.hs-harm", {}, ` Broken: ${text}`)),
          ),
          priced && h("td.hs-number", {}, line.minutes),
          priced && h("td", {}, note(bench, line)),
        ),
      ),
    ),
  );
}

function note(bench, line) {
  return h("input.hs-own-note", {
    type: "text",
    "aria-label": `Your note on step ${line.n}`,
    "data-value": line.note,
    placeholder: "your note",
    disabled: bench.view.order.closed,
    onchange: (event) => bench.send({ note: event.target.value, step: line.entry }),
  });
}
