// What you see at a place: parts with their terminals, wires in their colours, what hands can do.
import { h, s } from "./dom.js";
import { cautionList, doButton, insulation } from "./parts.js";
import { pointButton } from "./points.js";

export function sightPanel(bench) {
  const { sight, mode } = bench.view;
  return h(
    "div.hs-sight",
    { "data-key": `sight ${sight.place}` },
    h(
      "div.hs-sight-head",
      {},
      doButton(bench, sight.look, {
        label: sight.been ? "Look around" : `Go to the ${sight.place} and look around`,
        style: "hs-quiet",
      }),
      sight.seen
        ? h("p.hs-found", {}, h("b", {}, "You saw: "), sight.seen)
        : sight.note && h("p.hs-note", {}, `${sight.note}.`),
    ),
    cautionList(sight.cautions),
    h(
      "div.hs-faces",
      {},
      sight.parts.map((part) => face(bench, part)),
      sight.near.map((part) => nearFace(bench, part)),
    ),
    sight.parts.some((part) => [...part.harness, ...part.own].some((t) => t.back)) &&
      h(
        "p.hs-note",
        {},
        mode === "case"
          ? "A plug that is together is back-probed: 0.5 min a lead, and the joint stays as it is. Bare metal takes 0.2."
          : "A plug that is together is back-probed: the joint stays as it is.",
      ),
  );
}

const DRAW = {
  "blade fuse": fuse,
  "fusible link": fuse,
  battery,
  "ground stud": stud,
};

function face(bench, part) {
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
    part.state && h("p.hs-state", {}, part.state),
    draw(bench, part),
    h("div.hs-row.hs-handling", {}, part.offers.map((offer) => doButton(bench, offer))),
    part.listen.length > 0 && listening(bench, part),
    part.felt && h("p.hs-found", {}, h("b", {}, "You felt: "), part.felt),
  );
}

function nearFace(bench, part) {
  return h(
    "article.hs-face",
    { "data-key": part.name, "data-kind": "near", "aria-label": `${part.name}, ${part.title}` },
    h("h4", {}, h("b", {}, part.name), ` ${part.title}`),
    h("p.hs-note", {}, `A hand reaches it from here. Its terminals are at: ${part.at}.`),
    h("div.hs-row.hs-handling", {}, part.offers.map((offer) => doButton(bench, offer))),
    part.felt && h("p.hs-found", {}, h("b", {}, "You felt: "), part.felt),
  );
}

function listening(bench, part) {
  const id = bench.id(`listen ${part.name}`);
  return h(
    "div.hs-row.hs-listen",
    {},
    h("label", { for: id }, "Listen while you put"),
    h(
      "select",
      { id },
      part.listen.map((offer, index) => h("option", { value: index }, offer.label)),
    ),
    h(
      "button.hs-quiet",
      {
        "aria-label": `Listen to ${part.name}`,
        onclick: (event) => {
          const list = event.currentTarget.parentNode.querySelector("select");
          const now = bench.view.sight.parts.find(({ name }) => name === part.name);
          bench.send({ do: now.listen[Number(list.value)].do });
        },
      },
      "Listen",
      bench.view.mode === "case" && h("span.hs-price", {}, `${part.listen[0].minutes} min`),
    ),
  );
}

// Harness side | own side, a row a terminal: connectors, relays, switches, loads.
function twoSided(bench, part) {
  return h(
    "div.hs-halves",
    { "data-apart": part.apart ? "true" : undefined },
    h("span.hs-half-name", {}, part.sides[0]),
    h("span.hs-half-name", {}, part.sides[1]),
    part.harness.map((terminal, index) => [
      h(
        "div.hs-half.hs-half-harness",
        {},
        wireEnds(bench, terminal.wires, "left"),
        pointButton(bench, terminal),
      ),
      h(
        "div.hs-half.hs-half-own",
        {},
        pointButton(bench, part.own[index]),
        wireEnds(bench, part.own[index].wires, "right"),
      ),
    ]),
  );
}

// Holder, top, body, top, holder in a line: fuses and the link.
function fuse(bench, part) {
  const own = part.own.length ? part.own : [null, null];
  return h(
    "div.hs-fuse",
    { "data-apart": part.apart ? "true" : undefined },
    wireEnds(bench, part.harness[0].wires, "left"),
    pointButton(bench, part.harness[0]),
    own[0] && pointButton(bench, own[0]),
    h("span.hs-fuse-body", { "data-rating": part.rating }, `${part.rating} A`),
    own[1] && pointButton(bench, own[1]),
    pointButton(bench, part.harness[1]),
    wireEnds(bench, part.harness[1].wires, "right"),
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
    h("span.hs-note", {}, "bolted to the body"),
  );
}

function wireEnds(bench, wires, side) {
  return h(
    `div.hs-wires.hs-wires-${side}`,
    {},
    wires.map((wire) => wireEnd(bench, wire)),
  );
}

function wireEnd(bench, wire) {
  const { meter } = bench.view;
  const text = [wireDrawing(wire), h("span.hs-wire-name", {}, `${wire.name.replace("wire ", "w")} ${wire.code}`)];
  if (meter.instrument !== "clamp" || !wire.name.startsWith("wire ")) {
    return h("span.hs-wire", { "data-key": wire.name }, text);
  }
  return h(
    "button.hs-wire",
    {
      "data-key": wire.name,
      "aria-pressed": meter.wire === wire.name ? "true" : "false",
      "aria-label": `Clamp around ${wire.name}`,
      onclick: () => bench.send({ choose: { wire: wire.name } }),
    },
    text,
  );
}

function wireDrawing(wire) {
  const width = wire.thick ? 7 : 4;
  const [base, tracer] = wire.colours;
  return s(
    "svg",
    { viewBox: "0 0 48 10", width: 48, height: 10, "aria-hidden": "true", class: "hs-wire-line" },
    s("path", { d: "M0 5H48", class: "hs-wire-edge", "stroke-width": width + 2 }),
    s("path", { d: "M0 5H48", stroke: insulation(base), "stroke-width": width }),
    tracer &&
      s("path", {
        d: "M0 5H48",
        stroke: insulation(tracer),
        "stroke-width": width / 2.5,
        "stroke-dasharray": "8 6",
      }),
  );
}
