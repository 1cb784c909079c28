// Where the hands are: every place, what is there, and what it takes to get there.
import { h, unseen } from "./dom.js";
import { capital, leadSign, minutes } from "./parts.js";
import { endWord, signOf } from "./points.js";
import { t } from "./words.js";

export function placesPanel(bench) {
  const { places, mode } = bench.view;
  return h(
    "section.hs-panel.hs-places",
    { "data-key": "places", "aria-label": t("Places") },
    h("h3", {}, t("Where to put your hands")),
    places.map((place) => placeButton(bench, place)),
    mode === "case" &&
      h(
        "p.hs-note",
        {},
        t("Looking at a place on this screen is free. The way there is paid with the first thing you do there; coming back costs less."),
      ),
  );
}

function placeButton(bench, place) {
  const priced = bench.view.mode === "case";
  return h(
    "button.hs-place",
    {
      "data-key": place.name,
      "aria-current": place.chosen ? "true" : undefined,
      onclick: () => bench.send({ choose: { place: place.name, view: "place" } }),
    },
    h("span.hs-place-name", {}, capital(place.name)),
    " ",
    h(
      "span.hs-place-way",
      {},
      place.been && h("span", { "aria-hidden": "true" }, "✓ "),
      place.been && unseen(`${t("been there")}, `),
      place.here ? t("here") : priced && minutes(place.minutes),
    ),
    " ",
    h("span.hs-place-holds", {}, place.holds),
    place.leads.length > 0 &&
      h(
        "span.hs-place-leads",
        {},
        place.leads.map((lead) => [leadSign(signOf(lead)), unseen(t("{lead} lead rests here", { lead: endWord(lead) }))]),
      ),
  );
}
