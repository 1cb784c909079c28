// The call: unit, cause, what the repair takes before it is confirmed; then verify, then close.
import { h } from "./dom.js";
import { price } from "./parts.js";

export function callPanel(bench) {
  const { call } = bench.view;
  if (call.closed) return null;
  return h(
    "section.hs-panel.hs-call",
    { "data-key": "call", "aria-label": "Call, verify, close" },
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
      "Training simulation. On a real vehicle follow the maker's procedure, local rules and a qualified person's advice.",
    ),
    h(
      `button.${again ? "hs-quiet" : "hs-go"}`,
      { "data-key": "call", onclick: () => bench.remember({ calling: true }) },
      again ? "Make another call" : "Make the call",
    ),
    again &&
      h(
        "button.hs-go",
        { "data-key": "close", onclick: () => bench.remember({ closing: true }) },
        "Close the work order",
      ),
  );
}

function hints(bench, { price, text, more }) {
  return h(
    "div.hs-row.hs-hints",
    { "data-key": "hints" },
    text && h("p.hs-note", { role: "status", "data-key": "hint" }, h("b", {}, "Hint: "), text),
    more &&
      h(
        "button.hs-quiet",
        { "data-key": "ask hint", onclick: () => bench.send({ hint: true }) },
        text ? `Say more (${price})` : `Give me a hint (${price})`,
      ),
  );
}

const SIGNS = { holds: "✓", fails: "✗", open: "○" };
const STATES = { holds: "holds", fails: "does not hold", open: "still to do" };

function checkList(call) {
  return h(
    "div.hs-checks",
    { "data-key": "checks" },
    h("h3", {}, `Is it repaired? Check after: ${call.calls[call.calls.length - 1]}`),
    h(
      "ul",
      {},
      call.checks.map((check) =>
        h(
          "li",
          { "data-state": check.state },
          h("span.hs-check-sign", { "aria-hidden": "true" }, SIGNS[check.state]),
          h("span", {}, check.conditions, ": ", h("b", {}, check.do), `, expect ${check.expect}`),
          h("span.hs-check-state", {}, STATES[check.state]),
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
    { "data-key": "form", role: "group", "aria-label": "Make the call" },
    h("h3", {}, "Your call: what is it?"),
    h(
      "div.hs-fields",
      {},
      field(bench, "unit", "Unit to repair", unit ? unit.name : "", unitOptions(bench, call), {
        cause: "",
        option: "",
      }),
      unit && field(bench, "cause", "Cause", cause || "", unit.causes),
      unit &&
        unit.options.length > 1 &&
        field(
          bench,
          "option",
          "How",
          option.name,
          unit.options.map((o) => [o.name, `${o.name}: parts ${o.price}${days(o)}`]),
        ),
    ),
    unit && costs(unit, option),
    h(
      "div.hs-row.hs-decide",
      {},
      h(
        "button.hs-quiet",
        { "data-key": "not yet", onclick: () => bench.remember({ calling: false }) },
        "Not yet",
      ),
      h(
        "button.hs-go",
        {
          "data-key": "confirm",
          "aria-disabled": cause ? undefined : "true",
          onclick: () => {
            if (!cause) return;
            bench.send({ call: { unit: unit.name, cause, option: option.name } });
            bench.remember({ calling: false, unit: "", cause: "", option: "" });
          },
        },
        unit ? `Repair: ${unit.name}` : "Repair",
        unit && price(option.minutes),
      ),
    ),
  );
}

function days(option) {
  return option.days ? `, ${option.days} days of delivery` : "";
}

function costs(unit, option) {
  return h(
    "p",
    {},
    `${unit.labour} min of labour, parts for ${option.price} (${option.name}${days(option)}). `,
    h("b", {}, `Together it counts as ${option.minutes} min.`),
    " If it is the wrong unit, that is spent and the complaint is still there.",
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
    ...rest.map(({ name }) => [name, `${name} (all struck)`]),
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
      !value && h("option", { value: "" }, "choose"),
      options.map(([name, words]) => h("option", { value: name, "data-key": name }, words)),
    ),
  );
}

function closeForm(bench, call) {
  const open = call.checks.filter(({ state }) => state !== "holds").length;
  return h(
    "div.hs-call-form",
    { "data-key": "closing", role: "group", "aria-label": "Close the work order" },
    h(
      "p",
      {},
      h("b", {}, "Close it for good? "),
      "After that nothing more can be done, and the score sheet comes. ",
      open > 0 && h("b", {}, `${open} of the checks above do not hold or are still to do. `),
      call.loose.length > 0 && h("b", {}, `Still off its place: ${call.loose.join(", ")}. `),
    ),
    h(
      "div.hs-row.hs-decide",
      {},
      h(
        "button.hs-quiet",
        { "data-key": "not yet", onclick: () => bench.remember({ closing: false }) },
        "Not yet",
      ),
      h(
        "button.hs-go",
        {
          "data-key": "close for good",
          onclick: () => {
            bench.send({ close: true });
            bench.remember({ closing: false });
          },
        },
        "Close for good",
      ),
    ),
  );
}
