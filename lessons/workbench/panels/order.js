// The work order: complaint, clock, stages, what is next, the customer's answers.
import { h, unseen } from "./dom.js";
import { minutes, price } from "./parts.js";
import { t, tn, weave } from "./words.js";

export function orderPanel(bench) {
  const { order } = bench.view;
  return h(
    "header.hs-order",
    { "data-key": "order" },
    h(
      "div.hs-order-head",
      {},
      h("h2", {}, t("Work order {number}", { number: order.number }), h("span", {}, ` · ${order.vehicle}`)),
      h("blockquote", {}, order.complaint),
    ),
    h(
      "p.hs-clock",
      {},
      weave("{time} on the bench", { time: h("b", {}, minutes(order.minutes)) }),
      " · ",
      tn("{n} step", "{n} steps", order.steps),
    ),
    customer(bench, order),
    h("ol.hs-stages", { "aria-label": t("Stages of the job") }, order.stages.map(stage(order))),
    h("p.hs-next", { role: "status" }, h("b", {}, t("Next:"), " "), order.next),
  );
}

function stage(order) {
  return ({ name, done }, index) => {
    const now = index === order.now && !order.closed;
    return h(
      "li",
      {
        "data-state": done ? "done" : now ? "now" : "open",
        "aria-current": now ? "step" : undefined,
      },
      h("span.hs-stage-sign", { "aria-hidden": "true" }, done ? "✓" : index + 1),
      h("span", {}, name),
      unseen(done ? `, ${t("done")}` : ""),
    );
  };
}

function customer(bench, order) {
  const shown = order.questions.filter(({ answer }) => answer || !order.closed);
  if (!shown.length) return null;
  return h(
    "div.hs-customer",
    { role: "group", "aria-label": t("Ask the customer") },
    h("span.hs-label", {}, order.closed ? t("The customer said") : t("Ask the customer")),
    shown.map(({ ask, answer, minutes: cost }) =>
      answer
        ? h("p.hs-answer", { "data-key": ask }, h("span", {}, `${ask} `), h("q", {}, answer))
        : h(
            "button.hs-quiet",
            {
              "data-key": ask,
              onclick: () => bench.send({ do: { ask } }),
            },
            ask,
            price(cost),
          ),
    ),
  );
}
