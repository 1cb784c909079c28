// The driver's seat: controls, waiting, and watching what the vehicle does.
import { h } from "./dom.js";
import { capital, doButton, segment } from "./parts.js";

export function vehiclePanel(bench) {
  const { vehicle } = bench.view;
  return h(
    "section.hs-panel.hs-vehicle",
    { "data-key": "vehicle", "aria-label": "Driver's seat" },
    h(
      "h3",
      {},
      "At the driver's seat",
      h("span.hs-note", {}, ` · nothing was changed for ${vehicle.rested} min`),
    ),
    h(
      "div.hs-controls",
      {},
      vehicle.controls.map((control) => controlRow(bench, control)),
      waiting(bench, vehicle),
      h(
        "div.hs-control",
        { "data-key": "watch", role: "group", "aria-label": "Watch" },
        h("span.hs-label", {}, "Watch whether"),
        vehicle.watch.map((offer) => doButton(bench, offer, { label: `${offer.label}?`, short: true })),
      ),
    ),
  );
}

function controlRow(bench, { name, positions, now }) {
  return h(
    "div.hs-control",
    { "data-key": name },
    h("span.hs-label", {}, capital(name)),
    segment(
      name,
      positions.map((position) => ({ key: position, label: position })),
      now,
      (position) => position !== now && bench.send({ do: { set: { [name]: position } } }),
    ),
  );
}

function waiting(bench, vehicle) {
  const priced = bench.view.mode === "case";
  return h(
    "div.hs-control",
    { "data-key": "wait" },
    h("label.hs-label", { for: bench.id("wait") }, "Wait"),
    h(
      "div.hs-row",
      {},
      h(
        "select",
        { id: bench.id("wait") },
        vehicle.waits.map((offer, index) =>
          h(
            "option",
            { value: index, selected: index === 1 },
            priced ? `${offer.label} (costs ${offer.minutes})` : offer.label,
          ),
        ),
      ),
      h(
        "button.hs-quiet",
        {
          onclick: (event) => {
            const list = event.currentTarget.parentNode.querySelector("select");
            bench.send({ do: bench.view.vehicle.waits[Number(list.value)].do });
          },
        },
        "Wait",
      ),
    ),
  );
}
