// Where things are in the vehicle, and the faces of everything that comes apart.
import { h, unseen } from "./dom.js";
import { capital, cautionList, leadSign, minutes } from "./parts.js";
import { endWord, signOf } from "./points.js";
import { face } from "./sight.js";
import { t } from "./words.js";

export function mapPanel(bench) {
  const { map, places } = bench.view;
  const byName = Object.fromEntries(places.map((place) => [place.name, place]));
  return h(
    "div.hs-map",
    { "data-key": "map" },
    h("p.hs-note", {}, t("By the names of the places, front on the left. Beside each: its wires to others.")),
    h(
      "div.hs-vehicle-outline",
      {},
      map.zones.map((zone) =>
        h(
          "section.hs-zone",
          { "data-key": zone.name, "data-zone": zone.name, "aria-label": capital(zone.title) },
          h("h4", {}, capital(zone.title)),
          zone.places.map((name) => placeCard(bench, byName[name], map.looms)),
        ),
      ),
    ),
  );
}

function placeCard(bench, place, looms) {
  const priced = bench.view.mode === "case";
  const runs = looms
    .filter(([one, two]) => one === place.name || two === place.name)
    .map(([one, two, count]) => t("{count} to {place}", { count, place: one === place.name ? two : one }));
  return h(
    "button.hs-place",
    {
      "data-key": place.name,
      "aria-current": place.chosen ? "true" : undefined,
      onclick: () => bench.send({ choose: { place: place.name, view: "place" } }),
    },
    h("span.hs-place-name", {}, capital(place.name)),
    " ",
    h("span.hs-place-way", {}, place.here ? t("here") : priced && minutes(place.minutes)),
    " ",
    h("span.hs-place-holds", {}, place.holds),
    runs.length > 0 && h("span.hs-place-holds.hs-place-looms", {}, t("Wires: {runs}", { runs: runs.join(", ") })),
    place.leads.length > 0 &&
      h(
        "span.hs-place-leads",
        {},
        place.leads.map((lead) => [leadSign(signOf(lead)), unseen(t("{lead} lead rests here", { lead: endWord(lead) }))]),
      ),
  );
}

export function connectorsPanel(bench) {
  const { connectors } = bench.view;
  return h(
    "div.hs-connectors",
    { "data-key": "connectors" },
    h("p.hs-note", {}, t("Everything that comes apart: both sides, pins by number, each wire and where it goes.")),
    cautionList(connectors.cautions),
    h(
      "div.hs-scroll",
      { tabindex: "0", role: "group", "aria-label": t("Connector faces") },
      h(
        "div.hs-faces",
        {},
        connectors.parts.map((part) => [face(bench, part), pinTable(part)]),
      ),
    ),
  );
}

function pinTable(part) {
  const rows = [
    ...part.harness.map((terminal) => [part.sides[0], terminal]),
    ...part.own.map((terminal) => [part.sides[1], terminal]),
  ].flatMap(([side, terminal]) => terminal.wires.map((wire) => [side, terminal.pin, wire]));
  if (!rows.length) return null;
  return h(
    "table.hs-pins",
    { "data-key": `pins ${part.name}`, "aria-label": t("Pins of {part}", { part: part.name }) },
    h("caption", {}, t("{part}, at: {place}", { part: part.name, place: part.at })),
    h("thead", {}, h("tr", {}, [t("Pin"), t("Wire"), t("Goes to")].map((head) => h("th", { scope: "col" }, head)))),
    h(
      "tbody",
      {},
      rows.map(([side, pin, wire]) =>
        h(
          "tr",
          {},
          h("td", {}, `${pin}`, h("span.hs-note", {}, ` ${side}`)),
          h("td", {}, `${wire.name.replace("wire ", "w")} ${wire.code}`),
          h("td", {}, wire.to),
        ),
      ),
    ),
  );
}
