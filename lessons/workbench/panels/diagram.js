// The diagram: drawn by the kernel once; points, leads and what is apart lie on top. It zooms, is
// moved by hand, is searched, and tells of what is pointed at where it is and what the way takes.
import { h, lazily, s } from "./dom.js";
import { pointButton } from "./points.js";
import { handlingCard } from "./handling.js";
import { cautionList } from "./parts.js";
import { readableZoom, zoomBy, zoomTo } from "./zoom.js";
import { language, t } from "./words.js";

const POINTS_FROM = 0.62; // scale below which points lie too close together for a finger

export function diagramPanel(bench) {
  const { drawing, view, local } = bench;
  const zoom = local.zoom || readableZoom(bench);
  const points = zoom === "fit" || zoom < POINTS_FROM ? [] : view.diagram.points;
  const width = zoom === "fit" ? "100%" : `${Math.round(drawing.width * zoom)}px`;
  return h(
    "div.hs-drawing",
    { "data-key": "diagram" },
    h("div.hs-row.hs-diagram-tools", {}, zoomButtons(bench, zoom), search(bench), partList(bench)),
    h(
      "div.hs-paper-frame",
      {},
      h(
        "div.hs-paper-scroll",
        { tabindex: "0", role: "group", "aria-label": t("Diagram; plus and minus zoom") },
        h(
          "div.hs-paper",
          { style: `width:${width}` },
          h("div.hs-paper-drawing", { "data-key": `drawing ${language()}`, "data-keep": "true", html: drawing.svg }),
          apartMarks(drawing, view.diagram),
          spots(bench, points),
        ),
      ),
      view.diagram.face && chosenCard(bench, view.diagram.face),
    ),
    h(
      "p.hs-about",
      { role: "status", "data-keep": "true" },
      points.length
        ? t("Every ring takes a lead. Point at a part to see where it is; click it to handle it.")
        : t("Zoom in to put leads on. Point at a part to see where it is; click it to handle it."),
    ),
  );
}

function zoomButtons(bench, zoom) {
  const buttons = [
    [t("Zoom out"), "−", () => zoomBy(bench, 1 / 1.25)],
    [t("Zoom in"), "+", () => zoomBy(bench, 1.25)],
    [t("Fit the whole diagram"), t("fit"), () => zoomTo(bench, "fit")],
    [t("Readable size"), "1 : 1", () => zoomTo(bench, readableZoom(bench))],
  ];
  return h(
    "div.hs-segment",
    { role: "group", "aria-label": t("Size of the diagram") },
    buttons.map(([label, sign, onclick]) =>
      h(
        "button",
        {
          "data-key": label,
          "aria-label": label,
          title: label,
          "aria-pressed": sign === t("fit") ? String(zoom === "fit") : undefined,
          onclick,
        },
        sign,
      ),
    ),
  );
}

function search(bench) {
  const { local } = bench;
  const found = matches(bench);
  const next = () => bench.remember({ found: ((local.found || 0) + 1) % Math.max(1, found.length), goTo: true });
  return h(
    "div.hs-row.hs-search",
    { role: "search" },
    h("label.hs-label", { for: bench.id("search") }, t("Find")),
    h("input", {
      id: bench.id("search"),
      type: "search",
      autocomplete: "off",
      placeholder: t("C41, relay, BK/WH, hinge"),
      oninput: (event) => bench.remember({ search: event.target.value, found: 0, goTo: true }),
      onkeydown: (event) => event.key === "Enter" && next(),
    }),
    h("button.hs-quiet", { "aria-label": t("Next found"), onclick: next }, t("Next")),
    local.search &&
      h(
        "span.hs-note",
        { role: "status" },
        found.length
          ? t("{n} of {count}", { n: ((local.found || 0) % found.length) + 1, count: found.length })
          : t("nothing found"),
      ),
  );
}

function partList(bench) {
  const { about } = bench.drawing;
  const parts = Object.keys(about).filter((name) => !bench.drawing.wires[name]);
  const face = bench.view.diagram.face;
  return h(
    "div.hs-row",
    {},
    h("label.hs-label", { for: bench.id("part") }, t("Part")),
    h(
      "select",
      {
        id: bench.id("part"),
        "data-value": face ? face.name : "",
        onchange: (event) => bench.send({ choose: { part: event.target.value } }),
      },
      h("option", { value: "" }, t("none")),
      parts.map((name) => h("option", { value: name }, `${name} ${about[name].words}`)),
    ),
  );
}

// Names of parts and wires in which every word that was typed is found.
export function matches(bench) {
  const words = (bench.local.search || "").toLowerCase().split(/\s+/).filter(Boolean);
  if (!words.length) return [];
  const text = ([name, { words: said, places }]) =>
    `${name} ${said} ${places.join(" ")}`.toLowerCase();
  return Object.entries(bench.drawing.about)
    .filter((entry) => words.every((word) => text(entry).includes(word)))
    .map(([name]) => name);
}

function chosenCard(bench, face) {
  const title = `${face.name} ${face.title}`;
  return h(
    "article.hs-card",
    { "data-key": `card ${face.name}`, "aria-label": title },
    h(
      "div.hs-middle-head",
      {},
      h("h4", {}, h("b", {}, face.name), ` ${face.title}`),
      h(
        "button.hs-quiet.hs-small",
        { "aria-label": t("Put {part} aside", { part: face.name }), onclick: () => bench.send({ choose: { part: "" } }) },
        "×",
      ),
    ),
    h("p.hs-note", {}, where(bench, face.name)),
    cautionList(face.cautions),
    handlingCard(bench, face),
  );
}

// "fuse panel, 2.0 min away"
export function where(bench, name) {
  const about = bench.drawing.about[name];
  const priced = bench.view.mode === "case";
  return about.places
    .map((place) => {
      const found = bench.view.places.find((one) => one.name === place);
      if (!found) return place;
      if (found.here) return t("{place}, where your hands are", { place });
      return priced ? t("{place}, {minutes} min from here", { place, minutes: found.minutes }) : place;
    })
    .join("; ");
}

function place(drawing, x, y) {
  return `left:${(100 * x) / drawing.width}%;top:${(100 * y) / drawing.height}%`;
}

// Hundreds of buttons on a large vehicle: looked through only where a lead or a plug has moved.
function spots(bench, points) {
  const { meter, diagram } = bench.view;
  const state = [language(), points, meter.ends, meter.lead, diagram.bridge];
  return lazily("div.hs-spots", { "data-key": "spots" }, state, () =>
    points.map(([name, words]) => spot(bench, name, words)),
  );
}

function spot(bench, point, words) {
  const at = bench.drawing.points[point];
  if (!at) return null;
  return h(
    "span.hs-spot",
    { "data-key": point, style: place(bench.drawing, at[0], at[1]) },
    pointButton(bench, { point, words, pin: "", open: true }),
  );
}

function apartMarks(drawing, diagram) {
  const names = Object.keys(drawing.parts);
  const of = (part) =>
    names.filter((name) => name === part || name.startsWith(`${part} `) || name.startsWith(`${part}.`));
  const marks = diagram.apart.flatMap((part) => of(part).map((name) => [name, t("apart")]));
  for (const [one, two] of diagram.swapped) {
    marks.push(...of(one).map((name) => [name, t("holds {part}", { part: two })]));
    marks.push(...of(two).map((name) => [name, t("holds {part}", { part: one })]));
  }
  marks.push(...diagram.tried.flatMap((part) => of(part).map((name) => [name, t("known-good one")])));
  return marks.map(([name, text]) => {
    const [x, y, width, height] = drawing.parts[name];
    const size = `width:${(100 * width) / drawing.width}%;height:${(100 * height) / drawing.height}%`;
    return h(
      "span.hs-apart",
      { "data-key": `${name} ${text}`, style: `${place(drawing, x, y)};${size}` },
      h("span", {}, text),
    );
  });
}

// Points that have come free are shown, joints that are apart drawn apart, what is found marked.
export function drawMarks(bench) {
  const paper = bench.root.querySelector(".hs-paper-drawing");
  if (!paper) return;
  const { diagram } = bench.view;
  const open = new Set(diagram.points.map(([name]) => name));
  for (const point of paper.querySelectorAll(".point")) {
    point.classList.toggle("closed", !open.has(point.getAttribute("data-point")));
  }
  makeHittable(paper, bench.drawing.parts);
  const found = matches(bench);
  const now = found[(bench.local.found || 0) % Math.max(1, found.length)];
  for (const one of paper.querySelectorAll("[data-part], [data-wire]")) {
    const name = one.getAttribute("data-part") || one.getAttribute("data-wire");
    one.classList.toggle("apart", diagram.apart.includes(name));
    one.classList.toggle("found", found.includes(name));
    one.classList.toggle("found-now", name === now);
    one.classList.toggle("chosen", Boolean(diagram.face) && diagram.face.name === name);
  }
  if (bench.local.goTo && now) bring(paper, now);
  bench.local.goTo = false;
}

// A symbol is mostly lines: all of its box takes a click.
function makeHittable(paper, boxes) {
  if (paper.querySelector(".hs-hit")) return;
  for (const part of paper.querySelectorAll("[data-item]")) {
    const box = boxes[part.getAttribute("data-item")];
    if (!box) continue;
    const [x, y, width, height] = box;
    part.prepend(s("rect", { class: "hs-hit", x, y, width, height, fill: "transparent" }));
  }
}

// Bring what was found into the middle of what is in sight.
function bring(paper, name) {
  const one = paper.querySelector(`[data-part="${name}"], [data-wire="${name}"]`);
  const scroller = paper.closest(".hs-paper-scroll");
  if (!one) return;
  const [at, box] = [one.getBoundingClientRect(), scroller.getBoundingClientRect()];
  scroller.scrollLeft += at.left + at.width / 2 - box.left - box.width / 2;
  scroller.scrollTop += at.top + at.height / 2 - box.top - box.height / 2;
}
