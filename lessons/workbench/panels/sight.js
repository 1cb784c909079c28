// What you see at a place: parts with their terminals, wires in their colours, what hands can do.
import { h, s } from "./dom.js";
import { findings, handlingCard, offerRows } from "./handling.js";
import { cautionList, doButton, insulation } from "./parts.js";
import { pointButton } from "./points.js";
import { t, weave } from "./words.js";

export function sightPanel(bench) {
  const { sight, mode } = bench.view;
  return h(
    "div.hs-sight",
    { "data-key": `sight ${sight.place}` },
    h(
      "div.hs-sight-head",
      {},
      sight.offers.map((offer) =>
        doButton(bench, offer, {
          label: "look" in offer.do && !sight.been ? t("Go there and look around") : offer.label,
        }),
      ),
      sight.seen
        ? h("p.hs-found", {}, h("b", {}, t("You saw:"), " "), sight.seen)
        : sight.note && !sight.been && h("p.hs-note", {}, t("On the way: {note}.", { note: sight.note })),
    ),
    findings(sight.felt),
    cautionList(sight.cautions),
    h(
      "div.hs-faces",
      { "data-few": sight.parts.length + sight.near.length < 2 ? "true" : undefined },
      sight.parts.map((part) => face(bench, part)),
      sight.near.map((part) => nearFace(bench, part)),
      sight.wires.length > 0 && loom(bench, sight.wires),
    ),
    sight.parts.some((part) => [...part.harness, ...part.own].some((t) => t.back)) &&
      h(
        "p.hs-note",
        {},
        mode === "case"
          ? t("A plug that is together is back-probed: 0.5 min a lead, and the joint stays as it is. Bare metal takes 0.2.")
          : t("A plug that is together is back-probed: the joint stays as it is."),
      ),
  );
}

const DRAW = { "fusible link": link, battery, "ground stud": stud };

export function face(bench, part) {
  const draw = DRAW[part.kind] || twoSided;
  return h(
    "article.hs-face",
    {
      "data-key": part.name,
      "data-kind": part.kind,
      "data-apart": part.apart ? "true" : undefined,
      "aria-label": `${part.name}, ${part.title}`,
    },
    h("h4", {}, h("b", {}, part.name), ` ${part.title}`),
    draw(bench, part),
    handlingCard(bench, part),
  );
}

function nearFace(bench, part) {
  return h(
    "article.hs-face",
    { "data-key": part.name, "data-kind": "near", "aria-label": `${part.name}, ${part.title}` },
    h("h4", {}, h("b", {}, part.name), ` ${part.title}`),
    h("p.hs-note", {}, t("A hand reaches it from here. Its terminals are at: {place}.", { place: part.at })),
    offerRows(bench, part),
    findings(part.felt),
  );
}

// A loom that runs past: any of its wires can be shaken, warmed or wetted.
function loom(bench, all) {
  const wires = h("b", {}, t("Wires"));
  const id = bench.id("loom");
  const held = all.find(({ name }) => name === bench.local.loom) || all[0];
  return h(
    "article.hs-face",
    { "data-key": "loom", "data-kind": "loom", "aria-label": t("Wires that run past here") },
    h("h4", {}, weave("{wires} that run past here", { wires })),
    h(
      "div.hs-knob",
      {},
      h("label.hs-label", { for: id }, t("Wire")),
      h(
        "select",
        {
          id,
          "data-value": held.name,
          onchange: (event) => bench.remember({ loom: event.target.value }),
        },
        all.map(({ name, words }) => h("option", { value: name }, words)),
      ),
    ),
    h("div.hs-row.hs-handling", {}, held.offers.map((offer) => doButton(bench, offer, { short: true }))),
  );
}

// Wires, harness half, own half, wires: connectors, relays, switches, loads. The two halves touch
// while the plug is together and stand apart when it is not.
function twoSided(bench, part) {
  const rows = `2 / span ${part.harness.length}`;
  return h(
    "div.hs-halves",
    {
      "data-apart": part.apart ? "true" : undefined,
      "data-body": part.kind === "blade fuse" ? "true" : undefined,
    },
    h("span.hs-half-name.hs-left", {}, part.sides[0]),
    h("span.hs-half-name.hs-right", {}, part.sides[1]),
    h("div.hs-shell.hs-left", { style: `grid-row:${rows}` }),
    h("div.hs-shell.hs-right", { style: `grid-row:${rows}` }),
    part.harness.map((terminal, index) => [
      wireEnds(bench, terminal.wires, "left", index + 2),
      pinCell(bench, terminal, "left", index + 2),
      pinCell(bench, part.own[index], "right", index + 2),
      wireEnds(bench, part.own[index].wires, "right", index + 2),
    ]),
    part.kind === "blade fuse" &&
      h("span.hs-fuse-body", { style: `grid-row:${rows}`, "data-rating": part.rating }, part.rating),
  );
}

function pinCell(bench, terminal, side, row) {
  return h(
    `div.hs-pin-cell.hs-${side}`,
    { style: `grid-row:${row}` },
    pointButton(bench, terminal),
  );
}

// End, body, end in a line.
function link(bench, part) {
  const [near, far] = part.harness;
  return h(
    "div.hs-link",
    {},
    wireEnds(bench, near.wires, "left"),
    pointButton(bench, near),
    h("span.hs-link-body", {}, `${part.rating} A`),
    pointButton(bench, far),
    wireEnds(bench, far.wires, "right"),
  );
}

function battery(bench, part) {
  return h(
    "div.hs-battery",
    {},
    part.harness.map((terminal) =>
      h(
        "div.hs-post",
        {},
        pointButton(bench, terminal),
        wireEnds(bench, terminal.wires, "right"),
      ),
    ),
  );
}

function stud(bench, part) {
  return h(
    "div.hs-stud",
    {},
    wireEnds(bench, part.harness[0].wires, "left"),
    pointButton(bench, part.harness[0]),
    h("span.hs-note", {}, t("bolted to the body")),
  );
}

function wireEnds(bench, wires, side, row) {
  return h(
    `div.hs-wires.hs-${side}`,
    { style: row ? `grid-row:${row}` : undefined },
    wires.map((wire) => wireEnd(bench, wire)),
  );
}

function wireEnd(bench, wire) {
  const { meter } = bench.view;
  const text = [
    h("span.hs-wire-name", {}, wire.name.replace("wire ", "w")),
    wireDrawing(wire),
    h("span.hs-wire-name", {}, wire.code),
  ];
  if (meter.jaws === null || !wire.name.startsWith("wire ")) {
    return h("span.hs-wire", { "data-key": wire.name, title: wire.name }, text);
  }
  return h(
    "button.hs-wire",
    {
      "data-key": wire.name,
      "aria-pressed": meter.jaws.includes(wire.name) ? "true" : "false",
      "aria-label": t("Clamp around {wire}", { wire: wire.name }),
      onclick: () => bench.send({ choose: { wire: wire.name } }),
    },
    text,
  );
}

function wireDrawing(wire) {
  const width = wire.thick ? 6 : 3.5;
  const [base, tracer] = wire.colours;
  const line = (properties) => s("line", { x1: "0", x2: "100%", y1: 5, y2: 5, ...properties });
  return s(
    "svg",
    { height: 10, "aria-hidden": "true", class: "hs-wire-line" },
    line({ class: "hs-wire-edge", "stroke-width": width + 2 }),
    line({ stroke: insulation(base), "stroke-width": width }),
    tracer &&
      line({ stroke: insulation(tracer), "stroke-width": width / 2.5, "stroke-dasharray": "8 6" }),
  );
}
