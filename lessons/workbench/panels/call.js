// The call: unit, cause, what the repair takes before it is confirmed; then verify, then close.
import { h } from "./dom.js";
import { price } from "./parts.js";
import { msg, t, weave } from "./words.js";

export function callPanel(bench) {
  const { call } = bench.view;
  if (call.closed) return null;
  return h(
    "section.hs-panel.hs-call",
    { "data-key": "call", "aria-label": t("Call, verify, close") },
    call.checks.length > 0 && checkList(call),
    call.hints && hints(bench, call.hints),
    bench.local.calling ? callForm(bench, call) : callButtons(bench, call),
    bench.local.closing && closeForm(bench, call),
  );
}

function callButtons(bench, call) {
  if (bench.local.closing) return null;
  const again = call.calls.length > 0;
  return h(
    "div.hs-row.hs-decide",
    { "data-key": "buttons" },
    h(
      "p.hs-note.hs-rule",
      {},
      t("Training simulation. On a real vehicle follow the maker's procedure, local rules and a qualified person's advice."),
    ),
    h(
      `button.${again ? "hs-quiet" : "hs-go"}`,
      { "data-key": "call", onclick: () => bench.remember({ calling: true }, '.hs-call [data-key="unit"] select') },
      again ? t("Make another call") : t("Make the call"),
    ),
    again &&
      h(
        "button.hs-go",
        { "data-key": "close", onclick: () => bench.remember({ closing: true }, '.hs-call [data-key="not yet"]') },
        t("Close the work order"),
      ),
  );
}

function hints(bench, { price, text, more }) {
  return h(
    "div.hs-row.hs-hints",
    { "data-key": "hints" },
    text && h("p.hs-note", { role: "status", "data-key": "hint" }, h("b", {}, t("Hint:"), " "), text),
    more &&
      h(
        "button.hs-quiet",
        { "data-key": "ask hint", onclick: () => bench.send({ hint: true }) },
        text ? t("Say more ({price})", { price }) : t("Give me a hint ({price})", { price }),
      ),
  );
}

const SIGNS = { holds: "✓", fails: "✗", open: "○" };
const STATES = { holds: msg("holds"), fails: msg("does not hold"), open: msg("still to do") };

function checkList(call) {
  return h(
    "div.hs-checks",
    { "data-key": "checks" },
    h("h3", { tabindex: "-1" }, t("Is it repaired? Check after: {unit}", { unit: call.calls[call.calls.length - 1] })),
    h(
      "ul",
      {},
      call.checks.map((check) =>
        h(
          "li",
          { "data-state": check.state },
          h("span.hs-check-sign", { "aria-hidden": "true" }, SIGNS[check.state]),
          h(
            "span",
            {},
            weave("{conditions}: {check}, expect {what}", {
              conditions: check.conditions,
              check: h("b", {}, check.do),
              what: check.expect,
            }),
          ),
          h("span.hs-check-state", {}, t(STATES[check.state])),
        ),
      ),
    ),
  );
}

function chosen(bench, call) {
  const unit = call.units.find(({ name }) => name === bench.local.unit);
  const cause = unit && unit.causes.find(([name]) => name === bench.local.cause);
  const option =
    unit && (unit.options.find(({ name }) => name === bench.local.option) || unit.options[0]);
  return { unit, cause: cause && cause[0], option };
}

function callForm(bench, call) {
  const { unit, cause, option } = chosen(bench, call);
  return h(
    "div.hs-call-form",
    { "data-key": "form", role: "group", "aria-label": t("Make the call") },
    h("h3", {}, t("Your call: what is it?")),
    h(
      "div.hs-fields",
      {},
      field(bench, "unit", call.tells ? t("Unit to repair, or what to tell") : t("Unit to repair"), unit ? unit.name : "", unitOptions(bench, call), {
        cause: "",
        option: "",
      }),
      unit && field(bench, "cause", t("Cause"), cause || "", unit.causes),
      unit &&
        unit.options.length > 1 &&
        field(
          bench,
          "option",
          t("How"),
          option.name,
          unit.options.map((o) => [o.name, optionWords(o)]),
        ),
    ),
    unit && costs(unit, option),
    h(
      "div.hs-row.hs-decide",
      {},
      !cause && h("p.hs-note", { id: bench.id("call needs"), "data-key": "needs" }, unit ? t("Choose the cause first.") : t("Choose a unit and its cause first.")),
      h(
        "button.hs-quiet",
        { "data-key": "not yet", onclick: () => bench.remember({ calling: false }, '.hs-call [data-key="call"]') },
        t("Not yet"),
      ),
      h(
        "button.hs-go",
        {
          "data-key": "confirm",
          "aria-disabled": cause ? undefined : "true",
          "aria-describedby": cause ? undefined : bench.id("call needs"),
          onclick: () => {
            if (!cause) return;
            bench.send({ call: { unit: unit.name, cause, option: option.name } });
            const done = { calling: false, unit: "", cause: "", option: "" };
            bench.settled(() => bench.remember(done, ".hs-checks h3"));
          },
        },
        callTitle(unit),
        unit && price(option.minutes),
      ),
    ),
  );
}

function callTitle(unit) {
  if (!unit) return t("Repair");
  return unit.told ? t("Tell the customer: {unit}", { unit: unit.name }) : t("Repair: {unit}", { unit: unit.name });
}

// Parts are paid in minutes of work: so much money is earned in them.
function optionWords({ name, worth, days }) {
  if (!days) return t("{option}: parts worth {worth} min of work", { option: name, worth });
  return t("{option}: parts worth {worth} min of work, {days} days of delivery", { option: name, worth, days });
}

function costs(unit, option) {
  const values = { labour: unit.labour, option: option.name, ...option, name: undefined };
  return h(
    "p",
    {},
    option.days
      ? t("{labour} min of labour, parts worth {worth} min of work ({option}, {days} days of delivery).", values)
      : t("{labour} min of labour, parts worth {worth} min of work ({option}).", values),
    " ",
    h("b", {}, t("Together it counts as {minutes} min.", values)),
    " ",
    t("If it is the wrong unit, that is spent and the complaint is still there."),
  );
}

// Units that still hold a suspect come first.
function unitOptions(bench, call) {
  const left = new Set(
    bench.view.suspects.units
      .filter((unit) => unit.suspects.some((suspect) => !suspect.struck))
      .map(({ name }) => name),
  );
  const [first, rest] = [true, false].map((is) =>
    call.units.filter(({ name }) => left.has(name) === is),
  );
  return [
    ...first.map(({ name }) => [name, name]),
    ...rest.map(({ name }) => [name, t("{unit} (all struck)", { unit: name })]),
  ];
}

function field(bench, key, label, value, options, reset) {
  return h(
    "div.hs-field",
    { "data-key": key },
    h("label.hs-label", { for: bench.id(key) }, label),
    h(
      "select",
      {
        id: bench.id(key),
        "data-value": value,
        onchange: (event) => bench.remember({ [key]: event.target.value, ...reset }),
      },
      !value && h("option", { value: "" }, t("choose")),
      options.map(([name, words]) => h("option", { value: name, "data-key": name }, words)),
    ),
  );
}

function closeForm(bench, call) {
  const open = call.checks.filter(({ state }) => state !== "holds").length;
  return h(
    "div.hs-call-form",
    { "data-key": "closing", role: "group", "aria-label": t("Close the work order") },
    h(
      "p",
      {},
      h("b", {}, t("Close it for good?"), " "),
      t("After that nothing more can be done, and the score sheet comes."),
      " ",
      open > 0 &&
        h("b", {}, t("{n} of the checks above do not hold or are still to do.", { n: open }), " "),
      call.loose.length > 0 &&
        h("b", {}, t("Still off its place: {parts}.", { parts: call.loose.join(", ") }), " "),
    ),
    h(
      "div.hs-row.hs-decide",
      {},
      h(
        "button.hs-quiet",
        { "data-key": "not yet", onclick: () => bench.remember({ closing: false }, '.hs-call [data-key="close"]') },
        t("Not yet"),
      ),
      h(
        "button.hs-go",
        {
          "data-key": "close for good",
          onclick: () => {
            bench.send({ close: true });
            bench.settled(() => bench.remember({ closing: false }, ".hs-sheet"));
          },
        },
        t("Close for good"),
      ),
    ),
  );
}
