// Small things that several panels use.
import { h, unseen } from "./dom.js";
import { t } from "./words.js";

// A button that does something at the bench; what it takes stands on it.
export function doButton(bench, offer, options) {
  const { label, style, short } = options || {};
  const priced = bench.view.mode === "case";
  return h(
    `button.${style || "hs-quiet"}`,
    { onclick: () => bench.send({ do: offer.do }), "data-key": JSON.stringify(offer.do) },
    h("span", {}, label || offer.label),
    priced && price(offer.minutes, short),
  );
}

// What something takes, set off from the words before it.
export function price(text, short) {
  return [" ", h("span.hs-price", {}, text, short ? unseen(` ${t("min")}`) : ` ${t("min")}`)];
}

export function minutes(text) {
  return t("{minutes} min", { minutes: text });
}

// Buttons of which one is pressed, under a name of their own.
export function segment(name, options, pressed, choose) {
  return h(
    "div.hs-segment",
    { role: "group", "aria-label": name },
    options.map(({ key, label, title }) =>
      h(
        "button",
        {
          "aria-pressed": key === pressed ? "true" : "false",
          "data-key": key,
          title,
          onclick: () => choose(key),
        },
        label,
      ),
    ),
  );
}

// The sign of a lead: shape and character say which, colour only helps.
export function leadSign({ first, channel }, extra) {
  return h(
    `span.hs-lead.hs-lead-${first ? "red" : "black"}`,
    { "aria-hidden": "true", "data-channel": channel || undefined, ...extra },
    channel,
    first ? "+" : "−",
  );
}

export function cautionList(cautions) {
  if (!cautions.length) return null;
  return h(
    "ul.hs-cautions",
    { "aria-label": t("Cautions") },
    cautions.map(({ text, when, against }) =>
      h(
        "li",
        { class: against ? "hs-against" : undefined },
        h("span", { "aria-hidden": "true" }, "⚠"),
        h(
          "span",
          {},
          when && h("b", {}, `${when}: `),
          against && h("b", {}, t("Not as things stand."), " "),
          text,
        ),
      ),
    ),
  );
}

// A piece of wire in its insulation colours, with the code in words beside it.
const INSULATION = {
  black: "#17191c",
  blue: "#2f6fb0",
  brown: "#6b4a32",
  green: "#2c7d46",
  grey: "#80868d",
  orange: "#d9731c",
  pink: "#d98aa5",
  red: "#b3261e",
  turquoise: "#2a9d9a",
  violet: "#7a4a96",
  white: "#f4f4f0",
  yellow: "#d9a400",
};

export function insulation(colour) {
  return INSULATION[colour] || "#80868d";
}

export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

// 0.283 -> "28 %"
export function percent(share) {
  const value = 100 * share;
  return `${value < 9.95 ? value.toFixed(1) : value.toFixed(0)} %`;
}
