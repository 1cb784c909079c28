// The own path on the score sheet, step by step: what it could have shown, what it showed, what that
// ruled out and by what way of the current, and what the best choice would have been.
import { h, unseen } from "./dom.js";
import { percent } from "./parts.js";
import { t, tn } from "./words.js";

const FEW = 4; // units named in a line, the others counted

export function ownPath(sheet) {
  const worst = Math.max(1, ...sheet.steps.map((step) => step.regret));
  return h("ol.hs-path", {}, sheet.steps.map((step) => row(step, worst)));
}

function row(step, worst) {
  return h(
    "li",
    { "data-kind": step.kind, "data-key": `step ${step.n} ${step.title}` },
    h("span.hs-number", {}, step.n),
    h(
      "div",
      {},
      h("p", {}, h("b", {}, step.title), step.shown && `${step.title.endsWith("?") ? "" : ":"} ${step.shown}`),
      comment(step),
      reasons(step),
    ),
    h(
      "div.hs-regret",
      {},
      h(
        "span.hs-bar",
        { "aria-hidden": "true", "data-free": step.free ? "true" : undefined },
        h("i", { style: `width:${(100 * step.regret) / worst}%` }),
      ),
      h("span.hs-number", {}, t("{minutes} min", { minutes: step.charged.toFixed(1) }), unseen(` ${t("given away")}`)),
    ),
  );
}

function comment(step) {
  const broken = step.harm.length > 0 && h("p.hs-harm", {}, h("b", {}, t("Broken:"), " "), step.harm.join("; "));
  const risk = step.risk && h("p.hs-note", {}, step.risk);
  return [broken, risk, step.better ? h("p.hs-better", {}, step.better) : h("p.hs-note", {}, verdict(step))];
}

function verdict(step) {
  if (step.kind === "repaired") return t("After the repair: free.");
  if (step.free) return t("{minutes} min more than the best choice, but free: {why}.", { minutes: step.regret.toFixed(1), why: step.free });
  return step.charged > 0.05 ? t("Next to nothing given away.") : t("Nothing better was to be had.");
}

export function named(units) {
  if (units.length <= FEW + 1) return units.join(", ");
  return t("{names} and {n} more", { names: units.slice(0, FEW).join(", "), n: units.length - FEW });
}

function reasons(step) {
  if (step.kind === "repaired" || step.kind === "handling") return null;
  const { before, after } = step;
  const same = before.suspects === after.suspects;
  const change = same
    ? tn("{n} suspect was possible, and still is", "{n} suspects were possible, and still are", before.suspects)
    : tn("{n} suspect was possible, {after} after it", "{n} suspects were possible, {after} after it", before.suspects, { after: after.suspects });
  return h(
    "details.hs-reasoned",
    { "data-key": "reasons" },
    h("summary", {}, change),
    step.could.length > 0 && couldShow(step),
    (step.way || step.stood) && told(t("How the current comes"), [step.stood, step.way].filter(Boolean)),
    step.out.length > 0 && told(t("What that rules out"), step.out, "out"),
    step.fits.length > 0 && told(t("What fits"), step.fits, "fits"),
    h("p", {}, h("b", {}, same ? t("Still possible:") : t("Left in:"), " "), after.units.join(", ")),
  );
}

function told(title, lines, kind) {
  return h(
    "section.hs-why",
    { "data-kind": kind },
    h("h5", {}, title),
    h("ul", {}, lines.map((line) => h("li", {}, line))),
  );
}

function couldShow({ could }) {
  return h(
    "section.hs-why",
    { "data-kind": "could" },
    h("h5", {}, t("What it could have shown")),
    h(
      "ul.hs-could",
      {},
      could.map(({ shows, chance, left, units, was }) =>
        h(
          "li",
          { "data-was": was ? "true" : undefined },
          h("span.hs-could-sign", {}, was ? ["▶", unseen(`${t("This is what it showed:")} `)] : ""),
          h("span.hs-could-what", {}, shows),
          h("span.hs-could-bar", { "aria-hidden": "true" }, h("i", { style: `width:${100 * chance}%` })),
          h("span.hs-number", {}, percent(chance)),
          h("span.hs-could-left", {}, t("leaves {n}: {units}", { n: left, units: named(units) })),
        ),
      ),
    ),
  );
}
