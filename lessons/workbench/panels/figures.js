// Where the figures of a diagram go: beside the wire they are of, where nothing else lies. Every
// place along a wire is tried, on both sides and further off; of the free ones the nearest is taken.

const ROOM = 26; // units of a stretch of wire from which a figure has room beside it
const HIGH = 18;
const OFF = [14, 30, 52, 84]; // from the wire; further off a thread leads back to it
const SHARES = [0.5, 0.3, 0.7, 0.15, 0.85];
const AIR = 2;

function stretches(line) {
  const found = line.slice(1).map((to, k) => ({ from: line[k], to }));
  return found
    .map((one) => ({ ...one, length: Math.hypot(one.to[0] - one.from[0], one.to[1] - one.from[1]) }))
    .sort((a, b) => b.length - a.length);
}

function strip(from, to, half) {
  const [x, y] = [Math.min(from[0], to[0]) - half, Math.min(from[1], to[1]) - half];
  return [x, y, Math.abs(to[0] - from[0]) + 2 * half, Math.abs(to[1] - from[1]) + 2 * half];
}

// Area that two boxes share.
function shared([x, y, wide, high], [u, v, broad, tall]) {
  const across = Math.min(x + wide, u + broad) - Math.max(x, u);
  const down = Math.min(y + high, v + tall) - Math.max(y, v);
  return across > 0 && down > 0 ? across * down : 0;
}

function* places(line, wide) {
  const [longest, ...others] = stretches(line);
  const long = [longest, ...others.filter(({ length }) => length >= ROOM)];
  for (const off of OFF) {
    for (const { from, to } of long) {
      const level = Math.abs(to[1] - from[1]) < 1;
      for (const share of SHARES) {
        const at = [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
        for (const side of [-1, 1]) {
          const left = level ? at[0] - wide / 2 : side < 0 ? at[0] - off - wide : at[0] + off;
          const middle = level ? at[1] + side * (off + HIGH / 2) : at[1];
          yield { at, from, to, off, box: [left, middle - HIGH / 2, wide, HIGH] };
        }
      }
    }
  }
}

function cost(box, drawing, taken) {
  const [x, y, wide, high] = box;
  const outside = x < 2 || y < 2 || x + wide > drawing.width - 2 || y + high > drawing.height - 2;
  const around = [x - AIR, y - AIR, wide + 2 * AIR, high + 2 * AIR];
  return taken.reduce((sum, other) => sum + shared(around, other), outside ? 1e6 : 0);
}

// The thread back to the wire is not to run through writing either.
function crossed({ at, box: [left, top, wide, high] }, drawing) {
  const to = [Math.max(left, Math.min(at[0], left + wide)), Math.max(top, Math.min(at[1], top + high))];
  const thread = strip(at, to, 1);
  return drawing.texts.reduce((sum, text) => sum + shared(thread, text), 0);
}

function inked(drawing) {
  const wires = Object.values(drawing.wires);
  return [
    ...drawing.texts,
    ...Object.values(drawing.parts),
    ...wires.flatMap((line) => line.slice(1).map((to, k) => strip(line[k], to, 3))),
  ];
}

// Whether nothing lies where a box would go.
export function clear(drawing, box, others) {
  return cost(box, drawing, [...inked(drawing), ...others]) === 0;
}

// Flows with the place of each figure; `others` are boxes that lie on the drawing besides.
export function placed(drawing, flows, wideOf, others) {
  const taken = [...inked(drawing), ...others];
  return flows.map((flow) => {
    let best = null;
    for (const place of places(flow.line, wideOf(flow))) {
      const bad = cost(place.box, drawing, taken) + crossed(place, drawing);
      if (!best || bad < best.bad) best = { ...place, bad };
      if (!bad) break;
    }
    if (best.bad) return { ...flow, figure: { ...best, box: null } }; // the table has it as well
    taken.push(best.box);
    return { ...flow, figure: best };
  });
}
