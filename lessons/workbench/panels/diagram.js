// The diagram: drawn by the kernel once; points, leads and what is apart lie on top.
import { h } from "./dom.js";
import { pointButton } from "./points.js";
import { segment } from "./parts.js";

const SIZES = [
  { key: "whole", label: "Whole" },
  { key: "0.95", label: "Readable" },
  { key: "1.4", label: "Large" },
];

export function diagramPanel(bench) {
  const { drawing, view, local } = bench;
  const size = local.size || "0.95";
  const width = size === "whole" ? "100%" : `max(100%, ${Math.round(drawing.width * size)}px)`;
  return h(
    "div.hs-drawing",
    { "data-key": "diagram" },
    h(
      "div.hs-row",
      {},
      segment("Size of the diagram", SIZES, size, (key) => bench.remember({ size: key })),
      h("span.hs-note", {}, "Every ring takes a lead. The way to it is in the price."),
    ),
    h(
      "div.hs-paper-scroll",
      { tabindex: "0", role: "group", "aria-label": "Diagram" },
      h(
        "div.hs-paper",
        { style: `width:${width}` },
        h("div.hs-paper-drawing", { "data-keep": "true", html: drawing.svg }),
        apartMarks(drawing, view.diagram),
        view.diagram.points.map(([name, words]) => spot(bench, name, words)),
      ),
    ),
  );
}

function place(drawing, x, y) {
  return `left:${(100 * x) / drawing.width}%;top:${(100 * y) / drawing.height}%`;
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
  const of = (part) => names.filter((name) => name === part || name.startsWith(`${part} `));
  const marks = diagram.apart.flatMap((part) => of(part).map((name) => [name, "apart"]));
  for (const [one, two] of diagram.swapped) {
    marks.push(...of(one).map((name) => [name, `holds ${two}`]));
    marks.push(...of(two).map((name) => [name, `holds ${one}`]));
  }
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

// Points that have come free are shown, joints that are apart are drawn apart.
export function drawApart(root, diagram) {
  const open = new Set(diagram.points.map(([name]) => name));
  for (const point of root.querySelectorAll(".hs-paper-drawing .point")) {
    point.classList.toggle("closed", !open.has(point.getAttribute("data-point")));
  }
  for (const part of root.querySelectorAll(".hs-paper-drawing .part")) {
    part.classList.toggle("apart", diagram.apart.includes(part.getAttribute("data-part")));
  }
}
