// The instrument: what it measures, where its leads go, what the reading takes, what it shows.
import { h, unseen } from "./dom.js";
import { capital, cautionList, price, segment } from "./parts.js";
import { leadOf } from "./points.js";

export function meterPanel(bench) {
  const { meter, readout } = bench.view;
  return h(
    "section.hs-panel.hs-meter",
    { "data-key": "meter", "aria-label": "Instrument" },
    h("h3", {}, "Instrument in hand"),
    segment("Instrument", meter.instruments, meter.instrument, (instrument) =>
      bench.send({ choose: { instrument } }),
    ),
    meter.instrument === "clamp"
      ? clampChoice(bench, meter)
      : meter.ends.map((end) => endRow(bench, meter, end)),
    meter.bridge.length > 0 &&
      h("p.hs-note", {}, `The jumper is on: ${meter.bridge.join(" to ")}.`),
    readoutBox(bench, readout),
    cautionList(meter.cautions),
    prediction(bench, meter),
    takeButton(bench, meter),
    meter.problem && h("p.hs-note.hs-problem", {}, meter.problem),
  );
}

function endRow(bench, meter, end) {
  const lead = leadOf(bench, end);
  const name = meter.instrument === "jumper" ? `Jumper, ${end.key} end` : `${capital(end.key)} lead`;
  const next = meter.lead === lead;
  return h(
    "div.hs-end",
    { "data-key": end.key, "data-next": next ? "true" : undefined },
    h(
      "button.hs-end-sign",
      {
        "aria-pressed": next ? "true" : "false",
        "aria-label": `${name}: the next click on a point puts it down`,
        title: "The next click on a point puts this one down",
        onclick: () => bench.send({ choose: { lead } }),
      },
      h(
        `span.hs-lead.hs-jack.hs-lead-${lead}`,
        { "aria-hidden": "true" },
        lead === "red" ? "+" : "−",
      ),
    ),
    h("label.hs-unseen", { for: bench.id(end.key) }, name),
    h(
      "select.hs-end-list",
      {
        id: bench.id(end.key),
        "data-value": end.point,
        onchange: (event) => bench.send({ choose: { [end.key]: event.target.value } }),
      },
      h("option", { value: "" }, `${name}: in the air`),
      meter.points.map(({ place, points }) =>
        h(
          "optgroup",
          { label: place, "data-key": place },
          points.map(([point, words]) => h("option", { value: point, "data-key": point }, words)),
        ),
      ),
    ),
    next && h("span.hs-end-next", {}, "next click"),
  );
}

function clampChoice(bench, meter) {
  return h(
    "div.hs-end",
    { "data-key": "clamp" },
    h("label.hs-label", { for: bench.id("clamp") }, "Around"),
    h(
      "select.hs-end-list",
      {
        id: bench.id("clamp"),
        "data-value": meter.wire,
        onchange: (event) => bench.send({ choose: { wire: event.target.value } }),
      },
      h("option", { value: "" }, "no wire yet"),
      meter.wires.map(({ name, words }) => h("option", { value: name }, words)),
    ),
  );
}

function readoutBox(bench, readout) {
  const fresh = readout && bench.local.fresh === readout.entry;
  return h(
    "div.hs-readout",
    {
      "data-key": "readout",
      "data-fresh": fresh ? "true" : undefined,
      role: "status",
      "aria-live": "polite",
    },
    readout ? readoutParts(readout) : h("p.hs-readout-none", {}, "Nothing read yet"),
  );
}

function readoutParts(readout) {
  const { value, unit, words, steady } = readout;
  return [
    h("p.hs-readout-what", {}, `Step ${readout.n}: ${readout.what}`),
    value
      ? h(
          "p.hs-readout-value",
          {},
          h("output", {}, value),
          h("span", {}, ` ${unit}`),
          !steady && h("em", {}, " wandering"),
        )
      : h("p.hs-readout-words", {}, h("output", {}, words)),
    readout.expected &&
      h("p.hs-readout-expected", {}, "You expected: ", h("b", {}, readout.expected)),
    readout.harm.map((text) => h("p.hs-harm", {}, h("b", {}, "Broken: "), text)),
    (readout.conditions || readout.range) &&
      h("p.hs-note", {}, [readout.conditions, readout.range].filter(Boolean).join(" · ")),
  ];
}

function prediction(bench, meter) {
  if (!meter.predict || meter.instrument === "jumper") return null;
  return h(
    "div.hs-end",
    { "data-key": "predict" },
    h("label.hs-label", { for: bench.id("predict") }, "I expect"),
    h("input", {
      id: bench.id("predict"),
      type: "text",
      autocomplete: "off",
      placeholder: "such as: about 12 V",
      oninput: (event) => {
        bench.local.predict = event.target.value;
      },
      onkeydown: (event) => event.key === "Enter" && take(bench),
    }),
  );
}

function take(bench) {
  bench.settled(() => {
    const { meter } = bench.view;
    if (!meter.offer) return;
    const extra = meter.predict ? { predict: bench.local.predict || "" } : {};
    bench.send({ do: meter.offer.do, ...extra });
  });
}

function takeButton(bench, meter) {
  const { offer } = meter;
  return h(
    "button.hs-go",
    {
      "data-key": "take",
      "aria-disabled": offer ? undefined : "true",
      onclick: () => take(bench),
    },
    offer ? offer.label : "Take the reading",
    offer && bench.view.mode === "case" && price(offer.minutes),
  );
}
