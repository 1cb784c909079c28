// The work order played again on the diagram: one step at a time, with the currents of that moment.
import { h } from "./dom.js";
import { currentsFigure } from "./currents.js";
import { t } from "./words.js";

export function replayPanel(bench, frames) {
  if (!frames.length) return null;
  const now = Math.min(bench.local.frame || 0, frames.length - 1);
  const frame = frames[now];
  const go = (to) => bench.remember({ frame: Math.max(0, Math.min(frames.length - 1, to)) });
  return h(
    "div.hs-replay",
    { "data-key": "replay" },
    h(
      "div.hs-row",
      {},
      h("button.hs-quiet", { "aria-disabled": now === 0 ? "true" : undefined, onclick: () => go(now - 1) }, t("◀ Back")),
      h(
        "div.hs-replay-steps",
        { role: "group", "aria-label": t("Steps") },
        frames.map((one, k) =>
          h(
            "button",
            {
              "data-key": `frame ${k}`,
              "aria-pressed": String(k === now),
              "aria-label": t("Step {n}: {what}", { n: one.n, what: one.title }),
              title: one.title,
              onclick: () => go(k),
            },
            one.n,
          ),
        ),
      ),
      h(
        "button.hs-quiet",
        { "aria-disabled": now === frames.length - 1 ? "true" : undefined, onclick: () => go(now + 1) },
        t("Next ▶"),
      ),
    ),
    h(
      "div",
      { role: "status" },
      h("p.hs-replay-now", {}, h("b", {}, t("Step {n}. {what}", { n: frame.n, what: frame.title })), frame.shown && `: ${frame.shown}`),
      h("p.hs-note", {}, frame.conditions),
      frame.harm.map((text) => h("p.hs-harm", {}, h("b", {}, t("Broken:"), " "), text)),
    ),
    currentsFigure(bench, "replay figure", frame),
  );
}
