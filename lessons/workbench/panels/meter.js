// The instrument: how it is set, where its leads go, what the reading takes, what it shows. Every
// control follows from what the kernel says of the instrument; none is drawn for one of them alone.
import { h, lazily, s, unseen } from "./dom.js";
import { cautionList, doButton, leadSign, price, segment } from "./parts.js";
import { endName, signOf } from "./points.js";
import { scanScreen } from "./scan.js";
import { t, weave } from "./words.js";

const FEW = 5; // so many words stand side by side, more of them in a list

export function meterPanel(bench) {
  const { meter, readout } = bench.view;
  return h(
    "section.hs-panel.hs-meter",
    { "data-key": "meter", "aria-label": t("Instrument") },
    h("h3", {}, t("Instrument in hand")),
    segment(t("Instrument"), meter.instruments, meter.instrument, (instrument) =>
      bench.send({ choose: { instrument } }),
    ),
    h("div.hs-knobs", {}, meter.knobs.filter((knob) => !after(meter, knob)).map((knob) => knobRow(bench, knob))),
    leads(bench, meter),
    meter.knobs.filter((knob) => after(meter, knob)).map((knob) => knobRow(bench, knob)),
    meter.during && during(bench, meter.during),
    meter.standing.map((text) => h("p.hs-note.hs-standing", {}, text)),
    meter.bridge.length > 0 &&
      h("p.hs-note", {}, t("The jumper is on: {one} to {two}.", { one: meter.bridge[0], two: meter.bridge[1] })),
    readoutBox(bench, readout),
    cautionList(meter.cautions),
    prediction(bench, meter),
    takeButton(bench, meter),
    meter.problem && h("p.hs-note.hs-problem", {}, meter.problem),
    meter.extras.length > 0 &&
      h(
        "details.hs-more",
        { "data-key": "extras" },
        h("summary", {}, meter.extras.map((extra) => extra.label).join(", ")),
        meter.extras.map((extra) => extraRow(bench, extra)),
      ),
  );
}

// What depends on the unit that is asked is chosen after it.
function after(meter, knob) {
  return meter.aim !== null && knob.name !== meter.instrument;
}

function leads(bench, meter) {
  if (meter.channels.length) return meter.channels.map((one) => channelRow(bench, meter, one));
  return [
    meter.jaws && jaws(bench, meter),
    meter.aim !== null && aim(bench, meter),
    meter.ends.map((end) => endRow(bench, meter, end)),
  ];
}

// A knob is a row of words, a list where there are many, a field where sizes can be written.
function knobRow(bench, knob) {
  const turn = (text) => bench.send({ choose: { knob: { [knob.name]: text } } });
  const id = bench.id(`knob ${bench.view.meter.instrument} ${knob.name}`);
  if (knob.free) return sizeField(knob, id, turn);
  if (knob.words.length > FEW && knob.words.length < 12) {
    const options = knob.words.map(([key, label]) => ({ key, label }));
    return h(
      "div.hs-knob.hs-knob-wide",
      { "data-key": knob.name },
      segment(knob.label, options, knob.now, turn),
    );
  }
  return h(
    "div.hs-knob",
    { "data-key": knob.name },
    h("label.hs-label", { for: id }, knob.label),
    select(id, knob.now, knob.words, turn),
  );
}

function select(id, now, words, choose, extra) {
  return h(
    "select",
    { id, "data-value": now, onchange: (event) => choose(event.target.value), ...extra },
    words.map(([value, text]) => h("option", { value, "data-key": value }, text)),
  );
}

function sizeField(knob, id, turn) {
  return h(
    "div.hs-knob",
    { "data-key": knob.name },
    h("label.hs-label", { for: id }, knob.label),
    h("input", {
      id,
      type: "text",
      list: `${id}-usual`,
      autocomplete: "off",
      "data-value": knob.now,
      onchange: (event) => turn(event.target.value),
    }),
    h("datalist", { id: `${id}-usual` }, knob.words.map(([word]) => h("option", { value: word }))),
  );
}

function endRow(bench, meter, end) {
  const name = endName(meter, end.key);
  const next = meter.lead === end.key;
  return h(
    "div.hs-end",
    { "data-key": end.key, "data-next": next ? "true" : undefined },
    h(
      "button.hs-end-sign",
      {
        "aria-pressed": next ? "true" : "false",
        "aria-label": t("{lead}: the next click on a point puts it down", { lead: name }),
        title: t("Drag it to a point; or the next click on a point puts it down"),
        "data-drag": end.key,
        onclick: () => bench.send({ choose: { lead: end.key } }),
      },
      leadSign(signOf(end.key), { "data-jack": end.key }),
    ),
    h("label.hs-unseen", { for: bench.id(end.key) }, name),
    pointList(bench, meter, end, name),
    next && h("span.hs-end-next", { title: t("the next click puts it down") }, t("next")),
  );
}

function pointList(bench, meter, end, name) {
  const properties = {
    id: bench.id(end.key),
    "data-value": end.point,
    onchange: (event) => bench.send({ choose: { [end.key]: event.target.value } }),
  };
  return lazily("select.hs-end-list", properties, [name, meter.points], () => [
    h("option", { value: "" }, t("{lead}: in the air", { lead: name })),
    meter.points.map(({ place, points }) =>
      h(
        "optgroup",
        { label: place, "data-key": place },
        points.map(([point, words]) => h("option", { value: point, "data-key": point }, words)),
      ),
    ),
  ]);
}

// A channel has two leads or a clamp.
function channelRow(bench, meter, channel) {
  const name = `${channel.name} clamp`;
  const ends = meter.ends.filter((end) => end.key.startsWith(`${channel.name} `));
  const wires = [["", t("no clamp: leads")], ...meter.wires.map((wire) => [wire.name, wire.words])];
  return h(
    "fieldset.hs-channel",
    { "data-key": name, "data-channel": channel.name },
    h("legend", {}, t("Channel {name}", { name: channel.name })),
    !channel.clamp && ends.map((end) => endRow(bench, meter, end)),
    h(
      "div.hs-knob",
      {},
      h("label.hs-label", { for: bench.id(name) }, t("Clamp")),
      select(bench.id(name), channel.clamp, wires, (wire) =>
        bench.send({ choose: { [name]: wire } }),
      ),
    ),
  );
}

// The jaws: one wire, or a bundle of which the sum is shown.
function jaws(bench, meter) {
  const words = meter.wires.map(({ name, words: text }) => [name, text]);
  const [first = "", ...others] = meter.jaws;
  const more = words.filter(([name]) => !meter.jaws.includes(name));
  return h(
    "div.hs-jaws",
    { "data-key": "jaws" },
    h(
      "div.hs-knob",
      {},
      h("label.hs-label", { for: bench.id("clamp") }, t("Around")),
      select(bench.id("clamp"), first, [["", t("no wire yet")], ...words], (wire) =>
        bench.send({ choose: { wires: [wire, ...others] } }),
      ),
    ),
    others.map((wire) =>
      h(
        "div.hs-knob",
        { "data-key": wire },
        h("span", {}, t("and {wire}", { wire })),
        h(
          "button.hs-quiet",
          {
            "aria-label": t("Take {wire} out of the jaws", { wire }),
            onclick: () => bench.send({ choose: { wires: meter.jaws.filter((w) => w !== wire) } }),
          },
          t("Out"),
        ),
      ),
    ),
    first &&
      more.length > 0 &&
      h(
        "div.hs-knob",
        {},
        h("label.hs-label", { for: bench.id("beside") }, t("and beside it")),
        select(bench.id("beside"), "", [["", t("no other")], ...more], (wire) =>
          bench.send({ choose: { wires: [...meter.jaws, wire] } }),
        ),
      ),
  );
}

function aim(bench, meter) {
  return h(
    "div.hs-knob",
    { "data-key": "aim" },
    h("label.hs-label", { for: bench.id("aim") }, meter.aimed[0]),
    select(bench.id("aim"), meter.aim, [["", meter.aimed[1]], ...meter.parts], (part) =>
      bench.send({ choose: { aim: part } }),
    ),
  );
}

// A reading over a moment in which a control is moved: lowest and highest are kept.
function during(bench, { choices, now }) {
  const words = [["", t("as it stands")], ...choices.map((pair) => [JSON.stringify(pair), pair.join(" ")])];
  return h(
    "div.hs-knob",
    { "data-key": "during" },
    h("label.hs-label", { for: bench.id("during") }, t("While")),
    select(bench.id("during"), now.length ? JSON.stringify(now) : "", words, (text) => {
      const chosen = text ? Object.fromEntries([JSON.parse(text)]) : {};
      bench.send({ choose: { during: chosen } });
    }),
  );
}

function extraRow(bench, extra) {
  return h(
    "div.hs-row.hs-extra",
    { "data-key": extra.verb, role: "group", "aria-label": extra.label },
    h("span.hs-label", {}, extra.label),
    extra.offers.map((offer) => doButton(bench, offer, { short: true, style: "hs-quiet.hs-small" })),
  );
}

function readoutBox(bench, readout) {
  const fresh = readout && bench.local.fresh === readout.entry;
  return h(
    "div.hs-readout",
    { "data-key": "readout", "data-fresh": fresh ? "true" : undefined },
    h(
      "div",
      { role: "status", "aria-live": "polite" },
      readout ? readoutParts(readout) : h("p.hs-readout-none", {}, t("Nothing read yet")),
    ),
    readout && readout.dial && needle(readout.dial),
  );
}

function readoutParts(readout) {
  const { value, unit, words, steady, screen, scan } = readout;
  return [
    h("p.hs-readout-what", {}, t("Step {n}: {what}", { n: readout.n, what: readout.what })),
    value &&
      h(
        "p.hs-readout-value",
        {},
        h("output", {}, value),
        h("span", {}, ` ${unit}`),
        !steady && h("em", {}, ` ${t("wandering")}`),
      ),
    screen && h("p.hs-note", {}, t("On the oscilloscope's screen below.")),
    scan && scanScreen(scan),
    words && !screen && !scan && h("p.hs-readout-words", {}, h("output", {}, words)),
    readout.also.length > 0 &&
      !screen &&
      h(
        "dl.hs-figures",
        {},
        readout.also.map(([name, text]) => [h("dt", {}, name), h("dd", {}, text)]),
      ),
    readout.expected &&
      h("p.hs-readout-expected", {}, weave("You expected: {what}", { what: h("b", {}, readout.expected) })),
    readout.harm.map((text) => h("p.hs-harm", {}, h("b", {}, t("Broken:"), " "), text)),
    (readout.conditions || readout.range) &&
      h("p.hs-note", {}, [readout.conditions, readout.range].filter(Boolean).join(" · ")),
  ];
}

// A needle over the range: what moves catches the eye, the digits say how much.
const SWEEP = 100; // degrees from stop to stop
const HUB = { x: 100, y: 96 };

function needle({ low, high, unit, share }) {
  const ticks = Array.from({ length: 11 }, (_none, k) => k / 10);
  const at = (part, radius) => {
    const angle = (((part - 0.5) * SWEEP - 90) * Math.PI) / 180;
    return [HUB.x + radius * Math.cos(angle), HUB.y + radius * Math.sin(angle)];
  };
  const number = (part, text, anchor) => {
    const [x, y] = at(part, 64);
    return s("text", { x, y: y + 4, "text-anchor": anchor }, text);
  };
  return s(
    "svg",
    { class: "hs-needle", viewBox: "0 0 200 84", "aria-hidden": "true", "data-key": "needle" },
    ticks.map((part, k) => {
      const [[x1, y1], [x2, y2]] = [at(part, 84), at(part, k % 5 ? 79 : 74)];
      return s("line", { x1, y1, x2, y2 });
    }),
    number(0, low, "start"),
    number(1, high, "end"),
    s("text", { x: HUB.x, y: 52, "text-anchor": "middle" }, unit),
    s("path", {
      class: "hs-needle-hand",
      d: `M${HUB.x} ${HUB.y}V14`,
      style: `transform:rotate(${(share - 0.5) * SWEEP}deg)`,
    }),
  );
}

function prediction(bench, meter) {
  if (!meter.predict || !meter.reads) return null;
  return h(
    "div.hs-end",
    { "data-key": "predict" },
    h("label.hs-label", { for: bench.id("predict") }, t("I expect")),
    h("input", {
      id: bench.id("predict"),
      type: "text",
      autocomplete: "off",
      placeholder: t("a word, or a number with its unit"),
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
    offer ? offer.label : t("Take the reading"),
    offer && bench.view.mode === "case" && price(offer.minutes),
    unseen(`, ${meter.label}`),
  );
}
