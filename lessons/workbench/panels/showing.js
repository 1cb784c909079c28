// A demonstration of one step: the question, what one expects, then what it shows and why.
import { h } from "./dom.js";
import { currentsFigure } from "./currents.js";
import { t } from "./words.js";

export function showingPanel(bench) {
  const { ask, what, conditions, frame } = bench.view;
  return h(
    "section.hs-panel.hs-showing",
    { "data-key": "showing", "aria-label": t("Demonstration") },
    h("h2", {}, ask),
    h("p.hs-note", {}, `${what} · ${conditions}`),
    frame ? answer(bench, frame) : question(bench),
  );
}

function question(bench) {
  const send = () => bench.send({ predict: bench.local.predict || "" });
  return h(
    "div.hs-row.hs-showing-ask",
    { "data-key": "ask" },
    h("label", { for: bench.id("expect") }, t("I expect")),
    h("input", {
      id: bench.id("expect"),
      type: "text",
      autocomplete: "off",
      placeholder: t("a word, or a number with its unit"),
      oninput: (event) => {
        bench.local.predict = event.target.value;
      },
      onkeydown: (event) => event.key === "Enter" && send(),
    }),
    h("button.hs-go", { "data-key": "show", onclick: send }, t("Show me")),
  );
}

function answer(bench, frame) {
  return h(
    "div",
    { "data-key": "answer" },
    h(
      "dl.hs-answers",
      { role: "status" },
      entry(t("You expected"), frame.expected),
      entry(t("It shows"), frame.shown || t("nothing to read: look at the currents"), "true"),
      frame.usual && entry(t("A sound vehicle"), frame.usual),
    ),
    frame.harm.map((text) => h("p.hs-harm", {}, h("b", {}, t("Broken:"), " "), text)),
    currentsFigure(bench, "showing figure", frame),
  );
}

function entry(name, text, main) {
  return h("div", { "data-main": main }, h("dt", {}, name), h("dd", {}, text));
}
