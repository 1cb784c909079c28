// The driver's seat: controls, waiting, and watching what the vehicle does.
import { h, unseen } from "./dom.js";
import { capital, cautionList, doButton, segment } from "./parts.js";

const USUAL_WAIT = 2; // of the kernel's list: minutes in which something warms

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
    vehicle.stressed.length > 0 &&
      h("p.hs-state", { role: "status" }, `${vehicle.stressed.map(capital).join(". ")}.`),
    whole(bench, vehicle),
  );
}

// The whole vehicle shaken, warmed or wetted, for what comes and goes.
function whole(bench, vehicle) {
  return h(
    "details.hs-more",
    { "data-key": "whole" },
    h("summary", {}, "Make it come and go: road, sun, water"),
    h("div.hs-row", {}, vehicle.whole.map((offer) => doButton(bench, offer, { short: true }))),
    cautionList(vehicle.cautions),
  );
}

function controlRow(bench, { name, positions, now, cautions }) {
  const warned = new Map(cautions);
  return h(
    "div.hs-control",
    { "data-key": name },
    h("span.hs-label", {}, capital(name)),
    segment(
      name,
      positions.map((position) => ({
        key: position,
        label: warned.has(position)
          ? [position, h("span", { "aria-hidden": "true" }, " ⚠"), unseen(`. ${warned.get(position)}`)]
          : position,
        title: warned.get(position),
      })),
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
            { value: index, selected: index === USUAL_WAIT },
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
