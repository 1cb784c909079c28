// What hands can do to a part: often used verbs in sight, the rest under one lid. The cautions stand
// once at the head of the page that holds the parts, not with each of them.
import { h } from "./dom.js";
import { doButton, price } from "./parts.js";
import { t } from "./words.js";

export function handlingCard(bench, part) {
  return [
    part.state && h("p.hs-state", {}, part.state),
    offerRows(bench, part),
    part.listen && part.listen.length > 0 && listening(bench, part),
    findings(part.felt),
  ];
}

export function offerRows(bench, part) {
  const often = part.offers.filter((offer) => !offer.seldom);
  const seldom = part.offers.filter((offer) => offer.seldom);
  const button = (offer) => doButton(bench, offer, { short: true });
  return [
    h("div.hs-row.hs-handling", {}, often.map(button)),
    seldom.length > 0 &&
      h(
        "details.hs-more",
        { "data-key": "more" },
        h("summary", {}, t("More with your hands")),
        h("div.hs-row.hs-handling", {}, seldom.map(button)),
      ),
  ];
}

export function findings(felt) {
  return felt.map(([words, text]) =>
    h("p.hs-found", { "data-key": words }, h("b", {}, `${words}: `), text),
  );
}

// Ears, or a finger, on a relay while a control is moved.
function listening(bench, part) {
  const id = bench.id(`listen ${part.name}`);
  const chosen = (event) => {
    const list = event.currentTarget.parentNode.querySelector("select");
    return faceOf(bench, part.name).listen[Number(list.value)];
  };
  const priced = bench.view.mode === "case";
  return h(
    "div.hs-row.hs-listen",
    {},
    h("label", { for: id }, t("While")),
    h(
      "select",
      { id },
      part.listen.map((offer, index) => h("option", { value: index }, offer.label)),
    ),
    h(
      "button.hs-quiet",
      {
        "aria-label": t("Listen to {part}", { part: part.name }),
        onclick: (event) => bench.send({ do: chosen(event).do }),
      },
      t("listen"),
      priced && price(part.listen[0].minutes, true),
    ),
    h(
      "button.hs-quiet",
      {
        "aria-label": t("Finger on {part}", { part: part.name }),
        onclick: (event) => bench.send({ do: chosen(event).finger.do }),
      },
      t("finger on it"),
      priced && price(part.listen[0].finger.minutes, true),
    ),
  );
}

// What can be heard changes with every control: the choice is looked up when it is made.
function faceOf(bench, name) {
  const { sight, diagram, connectors } = bench.view;
  const faces = [...sight.parts, diagram.face, ...(connectors ? connectors.parts : [])];
  return faces.find((face) => face && face.name === name);
}
