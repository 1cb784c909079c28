// The own path beside the best one, drawn as two lines of stations with what each showed on the way
// to the next; below them the whole best path with the branches that were not taken.
import { h, unseen } from "./dom.js";
import { price } from "./parts.js";
import { t } from "./words.js";

export function twoPaths(sheet) {
  return h(
    "div.hs-paths",
    { "data-key": "paths" },
    line(t("You"), sheet.steps.filter((step) => step.kind !== "repaired").map(ownStation)),
    line(
      t("The best path"),
      bestStations(sheet.tree),
      t("With {conditions}, unless a line says otherwise.", { conditions: sheet.conditions }),
    ),
  );
}

function line(title, stations, note) {
  return h(
    "section.hs-line",
    { "aria-label": title },
    h("h5", {}, title),
    note && h("p.hs-note", {}, note),
    h("ol", {}, stations),
  );
}

function station({ title, minutes, shows, left, others, end, cost }) {
  return h(
    "li",
    { "data-end": end ? "true" : undefined, "data-cost": cost ? "true" : undefined },
    h(
      "div.hs-station",
      {},
      h("b", {}, title),
      minutes && price(minutes),
      cost && h("span.hs-station-cost", {}, t("{minutes} min given away", { minutes: cost })),
    ),
    (shows || left) &&
      h(
        "div.hs-way-on",
        {},
        shows && h("span.hs-branch", {}, unseen(`${t("shows")} `), shows),
        left && h("span.hs-note", {}, left),
      ),
    others && others.length > 0 &&
      h("ul.hs-sidings", {}, others.map(([label, next]) => h("li", {}, h("span.hs-branch", {}, label), ` → ${next}`))),
  );
}

function ownStation(step) {
  const { before, after } = step;
  const told = before.suspects !== after.suspects && t("{before} suspects → {after}", { before: before.suspects, after: after.suspects });
  return station({
    title: `${step.n}. ${step.title}`,
    minutes: step.minutes,
    shows: step.kind === "call" ? "" : step.shown,
    left: told || "",
    end: step.kind === "call",
    cost: step.charged > 0.05 ? step.charged.toFixed(1) : "",
  });
}

// From the root along the branches that lead to the cause; the others are sidings.
function bestStations(node) {
  const found = [];
  for (let now = node; now; ) {
    if (now.unit) {
      found.push(station({ title: now.title, end: true }));
      break;
    }
    if (now.repair) {
      found.push(station({ title: now.title, end: now.right, shows: now.right ? "" : t("complaint still there") }));
      now = now.right ? null : now.wrong;
      continue;
    }
    const taken = now.branches.find(([, branch]) => branch.on) || now.branches[0];
    found.push(
      station({
        title: now.test,
        minutes: now.minutes,
        shows: taken[0],
        others: now.branches.filter((one) => one !== taken).map(([label, branch]) => [label, first(branch)]),
      }),
    );
    [, now] = taken;
  }
  return found;
}

function first(node) {
  return node.deed || node.order;
}

export function wholeTree(sheet) {
  return h(
    "details.hs-more",
    { "data-key": "whole tree" },
    h("summary", {}, t("The whole best path, with the branches for other causes")),
    h("div.hs-tree", { tabindex: "0", role: "group", "aria-label": t("Best path with all branches") }, tree(sheet.tree)),
  );
}

function tree(node) {
  if (node.unit) return h("span.hs-leaf", { "data-on": on(node) }, t("→ {deed}", { deed: node.deed }));
  if (node.repair) {
    return h(
      "div",
      {},
      h("span.hs-leaf", { "data-on": on(node) }, t("→ {deed}; complaint still there?", { deed: node.deed })),
      branchList([[t("still there"), node.wrong]]),
    );
  }
  return h(
    "details",
    { "data-on": on(node), open: node.on },
    h("summary", {}, h("b", {}, node.test), price(node.minutes)),
    branchList(node.branches),
  );
}

function branchList(branches) {
  return h(
    "ul",
    {},
    branches.map(([label, node]) =>
      h("li", { "data-on": on(node) }, h("span.hs-branch", {}, label), tree(node)),
    ),
  );
}

function on(node) {
  return node.on ? "true" : undefined;
}
