// The suspects: how likely, which are struck; singly, by unit, or by a stretch of the path.
import { h, lazily, unseen } from "./dom.js";
import { percent } from "./parts.js";
import { t, tn } from "./words.js";

export function suspectsPanel(bench) {
  const { suspects } = bench.view;
  const all = suspects.units.flatMap((unit) => unit.suspects);
  const struck = all.filter((suspect) => suspect.struck).length;
  return h(
    "section.hs-panel.hs-suspects",
    { "data-key": "suspects", "aria-label": t("Suspects") },
    h(
      "h3",
      {},
      t("Suspects"),
      h("span.hs-note", {}, " ", t("{n} of {count} left", { n: all.length - struck, count: all.length })),
    ),
    !suspects.closed &&
      h(
        "p.hs-note",
        { "data-key": "shares" },
        t("The percentages follow the customer's answers and what you strike, not what you read."),
        " ",
        bench.view.call.hints && t("A hint counts your readings too, so its percentages differ."),
      ),
    reasonField(bench),
    h("div.hs-scroll", { tabindex: "0", role: "group", "aria-label": t("Suspects by unit") }, [
      !suspects.closed && suspects.sections.map((section) => strip(bench, section)),
      suspects.units.map((unit) => unitRow(bench, unit)),
    ]),
    struckBefore(suspects.reasons),
  );
}

function reasonField(bench) {
  if (bench.view.suspects.closed) return null;
  return h(
    "div.hs-end",
    { "data-key": "reason" },
    h("label.hs-label", { for: bench.id("reason") }, t("Because")),
    h("input", {
      id: bench.id("reason"),
      type: "text",
      autocomplete: "off",
      placeholder: t("what rules them out, such as: step 4, 12 V here"),
      oninput: (event) => {
        bench.local.reason = event.target.value;
      },
    }),
  );
}

// A reason belongs to one strike: once that is done the field is free for the next.
function strike(bench, names) {
  const reason = bench.local.reason || "";
  bench.send({ strike: names, reason });
  bench.settled(() => {
    if (bench.view.notice || bench.local.reason !== reason) return;
    bench.local.reason = "";
    const field = document.getElementById(bench.id("reason"));
    if (field) field.value = "";
  });
}

// One track from supply to ground; a stop stands for "good up to and with this".
function strip(bench, section) {
  const chosen = bench.local.section === section.name ? bench.local.stop : null;
  const properties = {
    "data-key": `strip ${section.name}`,
    role: "group",
    "aria-label": t("Path {name}", { name: section.name }),
  };
  const struck = bench.view.suspects.units.flatMap((unit) => unit.suspects.map((one) => one.struck));
  const state = [section, chosen, Boolean(bench.local.onward), chosen !== null && struck];
  return lazily("div.hs-strip", properties, state, () => [
    h("p.hs-note", {}, t("Path {name}: choose how far it is good", { name: section.name })),
    h(
      "div.hs-stops",
      {},
      section.stops.map(({ label }, index) =>
        h(
          "button.hs-stop",
          {
            "data-key": label,
            "aria-pressed": chosen === index ? "true" : "false",
            "data-in": chosen !== null && inStretch(bench, index, chosen) ? "true" : undefined,
            onclick: () =>
              bench.remember({
                section: section.name,
                stop: chosen === index ? null : index,
              }),
          },
          label.replace("wire ", "w"),
        ),
      ),
    ),
    chosen !== null && stretch(bench, section, chosen),
  ]);
}

function inStretch(bench, index, chosen) {
  return bench.local.onward ? index >= chosen : index <= chosen;
}

function stretch(bench, section, chosen) {
  const { units } = bench.view.suspects;
  const struck = new Set(
    units.flatMap((unit) => unit.suspects.filter((s) => s.struck).map((s) => s.name)),
  );
  const names = section.stops
    .filter((_stop, index) => inStretch(bench, index, chosen))
    .flatMap((stop) => stop.suspects)
    .filter((name) => !struck.has(name));
  const back = section.stops
    .filter((_stop, index) => inStretch(bench, index, chosen))
    .flatMap((stop) => stop.suspects)
    .filter((name) => struck.has(name));
  const label = section.stops[chosen].label;
  return h(
    "div.hs-row.hs-stretch",
    {},
    h(
      "button.hs-quiet",
      { onclick: () => bench.remember({ onward: !bench.local.onward }) },
      bench.local.onward
        ? t("Good from {stop} on", { stop: label })
        : t("Good up to {stop}", { stop: label }),
      unseen(`, ${t("change the direction")}`),
      h("span", { "aria-hidden": "true" }, " ⇄"),
    ),
    h(
      "button.hs-go.hs-small",
      {
        "aria-disabled": names.length ? undefined : "true",
        onclick: () => {
          if (!names.length) return;
          strike(bench, names);
          bench.remember({ stop: null });
        },
      },
      tn("Strike {n} suspect", "Strike {n} suspects", names.length),
    ),
    back.length > 0 &&
      h(
        "button.hs-quiet",
        { "data-key": "back", onclick: () => bench.send({ restore: back }) },
        t("Restore {n}", { n: back.length }),
      ),
  );
}

function unitRow(bench, unit) {
  const { closed } = bench.view.suspects;
  const left = unit.suspects.filter((suspect) => !suspect.struck);
  const chance = left.reduce((sum, suspect) => sum + suspect.chance, 0);
  const names = (left.length ? left : unit.suspects).map((suspect) => suspect.name);
  const properties = {
    "data-key": `unit ${unit.name}`,
    "data-struck": left.length ? undefined : "true",
  };
  return lazily("details.hs-unit", properties, [unit, closed], () => [
    h(
      "summary",
      {},
      h("span.hs-unit-name", {}, unit.name),
      h("span.hs-unit-left", {}, t("{n} of {count}", { n: left.length, count: unit.suspects.length })),
      h(
        "span.hs-bar",
        { "aria-hidden": "true" },
        h("i", { style: `width:${100 * chance}%` }),
      ),
      h("span.hs-number", {}, left.length ? percent(chance) : t("struck")),
    ),
    h(
      "div.hs-chips",
      {},
      unit.suspects.map((suspect) => chip(bench, suspect)),
      !closed &&
        unit.suspects.length > 1 &&
        h(
          "button.hs-quiet.hs-small",
          {
            "data-key": "all",
            onclick: () => (left.length ? strike(bench, names) : bench.send({ restore: names })),
          },
          left.length
            ? t("Strike all of {unit}", { unit: unit.name })
            : t("Restore all of {unit}", { unit: unit.name }),
        ),
    ),
  ]);
}

function chip(bench, suspect) {
  return h(
    "button.hs-chip",
    {
      "data-key": suspect.name,
      "aria-pressed": suspect.struck ? "true" : "false",
      disabled: bench.view.suspects.closed,
      title: suspect.struck ? t("Struck: click to restore") : t("Click to strike"),
      onclick: () =>
        suspect.struck
          ? bench.send({ restore: [suspect.name] })
          : strike(bench, [suspect.name]),
    },
    unseen(suspect.struck ? `${t("struck")}: ` : ""),
    h("span.hs-chip-name", {}, suspect.words),
    " ",
    h("span.hs-price", {}, percent(suspect.struck ? suspect.before : suspect.chance)),
  );
}

function struckBefore(reasons) {
  if (!reasons.length) return null;
  return h(
    "details.hs-reasons",
    { "data-key": "reasons" },
    h("summary", {}, t("What you struck, and why ({n})", { n: reasons.length })),
    h(
      "ol",
      { reversed: true },
      reasons.map(({ suspects, reason }) =>
        h("li", {}, reason ? h("b", {}, `${reason}: `) : null, suspects.join(", ")),
      ),
    ),
  );
}
