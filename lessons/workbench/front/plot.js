// Curves on a canvas: one lane a channel, a column of pixels at a time, so that ten thousand
// samples cost no more than there are pixels.

const LEFT = 58; // px for the figures of the axis
const BOTTOM = 20;
const TAG = 15;

// Steps of 1, 2 or 5 that cut a range into at most `most` pieces.
export function niceStep(range, most) {
  const rough = range / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * [1, 2, 5, 10].find((step) => step * power >= rough * (1 - 1e-9));
}

// 0.0123 s -> "12.3 ms"
export function engineering(value, unit) {
  const size = Math.abs(value);
  if (size < 1e-12) return `0 ${unit}`;
  const [factor, prefix] = size >= 1 ? [1, ""] : size >= 1e-3 ? [1e3, "m"] : [1e6, "µ"];
  return `${Number((value * factor).toPrecision(4))} ${prefix}${unit}`;
}

// The value of a curve at a share of its width, straight between samples.
export function valueAt(values, share) {
  const at = Math.max(0, Math.min(1, share)) * (values.length - 1);
  const left = Math.floor(at);
  const right = Math.min(values.length - 1, left + 1);
  return values[left] + (at - left) * (values[right] - values[left]);
}

export function spread(values) {
  let [low, high] = [Infinity, -Infinity];
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  const room = Math.max(high - low, Math.abs(high) * 0.02, 0.02) * 0.1;
  return [low - room, high + room];
}

// Where a place on the canvas is in time: a share of the whole width.
export function shareAt(canvas, { from, to }, clientX) {
  const box = canvas.getBoundingClientRect();
  const inner = (clientX - box.left - LEFT) / Math.max(1, box.width - LEFT);
  return Math.max(0, Math.min(1, from + inner * (to - from)));
}

export function drawCurves(canvas, screen, span, cursors, colours) {
  const ratio = window.devicePixelRatio || 1;
  const { clientWidth: width, clientHeight: height } = canvas;
  if (!width || !height) return;
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round(height * ratio);
  const pen = canvas.getContext("2d");
  pen.scale(ratio, ratio);
  pen.font = `11px ${colours.mono}`;
  const lane = (height - BOTTOM) / screen.curves.length;
  const area = { left: LEFT, width: width - LEFT, height: height - BOTTOM };
  timeGrid(pen, screen.seconds, span, area, colours);
  screen.curves.forEach((curve, index) => {
    const box = { ...area, top: index * lane, height: lane };
    const [low, high] = spread(curve.values);
    valueGrid(pen, curve, low, high, box, colours);
    const { trigger } = screen;
    if (trigger && trigger.channel === curve.name) level(pen, trigger, low, high, box, colours);
    line(pen, curve, low, high, span, box, colours);
    tag(pen, curve.name, box, colours);
  });
  cursors.forEach((share, index) => cursor(pen, share, index, span, area, colours));
}

function timeGrid(pen, seconds, { from, to }, area, colours) {
  const step = niceStep(seconds * (to - from), area.width < 500 ? 5 : 10);
  pen.strokeStyle = colours.line;
  pen.fillStyle = colours.soft;
  pen.lineWidth = 1;
  pen.textAlign = "center";
  pen.textBaseline = "bottom";
  for (let k = Math.ceil((from * seconds) / step - 1e-9); k * step <= to * seconds * (1 + 1e-9); k += 1) {
    const x = area.left + (((k * step) / seconds - from) / (to - from)) * area.width;
    pen.beginPath();
    pen.moveTo(x, 0);
    pen.lineTo(x, area.height);
    pen.stroke();
    const text = engineering(k * step, "s");
    const half = pen.measureText(text).width / 2;
    pen.fillText(text, Math.max(half, Math.min(x, area.left + area.width - half)), area.height + BOTTOM - 3);
  }
}

function valueGrid(pen, curve, low, high, box, colours) {
  const step = niceStep(high - low, box.height < 120 ? 3 : 5);
  pen.strokeStyle = colours.line;
  pen.fillStyle = colours.soft;
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  for (let k = Math.ceil(low / step); k * step <= high; k += 1) {
    const y = height(k * step, low, high, box);
    pen.beginPath();
    pen.moveTo(box.left, y);
    pen.lineTo(box.left + box.width, y);
    pen.stroke();
    pen.fillText(engineering(k * step, curve.unit), box.left - 5, Math.max(7, y));
  }
  pen.strokeStyle = colours.edge;
  pen.strokeRect(box.left, box.top, box.width, box.height);
}

function height(value, low, high, box) {
  return box.top + box.height * (1 - (value - low) / (high - low));
}

// The lowest and the highest sample of every column of pixels, joined from column to column.
function line(pen, { values, name }, low, high, { from, to }, box, colours) {
  const first = Math.max(0, Math.floor(from * (values.length - 1)));
  const last = Math.min(values.length - 1, Math.ceil(to * (values.length - 1)));
  const x = (k) => box.left + ((k / (values.length - 1) - from) / (to - from)) * box.width;
  pen.save();
  pen.beginPath();
  pen.rect(box.left, box.top, box.width, box.height);
  pen.clip();
  pen.strokeStyle = colours[name] || colours.ink;
  pen.lineWidth = 1.8;
  pen.lineJoin = "round";
  pen.beginPath();
  pen.moveTo(x(first), height(values[first], low, high, box));
  const each = Math.max(1, Math.floor((last - first) / (2 * box.width)));
  for (let k = first; k <= last; k += each) {
    let [least, most] = [values[k], values[k]];
    for (let j = k + 1; j < Math.min(k + each, last + 1); j += 1) {
      if (values[j] < least) least = values[j];
      if (values[j] > most) most = values[j];
    }
    pen.lineTo(x(k), height(least, low, high, box));
    if (most > least) pen.lineTo(x(k), height(most, low, high, box));
  }
  pen.stroke();
  pen.restore();
}

function tag(pen, name, box, colours) {
  pen.fillStyle = colours[name] || colours.ink;
  pen.fillRect(box.left + 4, box.top + 4, TAG, TAG);
  pen.fillStyle = colours.paper;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.fillText(name, box.left + 4 + TAG / 2, box.top + 5 + TAG / 2);
}

function level(pen, trigger, low, high, box, colours) {
  if (trigger.level < low || trigger.level > high) return;
  const y = height(trigger.level, low, high, box);
  pen.strokeStyle = colours.soft;
  pen.setLineDash([6, 4]);
  pen.beginPath();
  pen.moveTo(box.left, y);
  pen.lineTo(box.left + box.width, y);
  pen.stroke();
  pen.setLineDash([]);
  pen.fillStyle = colours.soft;
  pen.textAlign = "right";
  pen.fillText(`T ${trigger.slope === "rising" ? "↗" : "↘"}`, box.left + box.width - 4, y - 8);
}

function cursor(pen, share, index, { from, to }, area, colours) {
  if (share < from || share > to) return;
  const x = area.left + ((share - from) / (to - from)) * area.width;
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.4;
  pen.setLineDash(index ? [2, 3] : [7, 3]);
  pen.beginPath();
  pen.moveTo(x, 0);
  pen.lineTo(x, area.height);
  pen.stroke();
  pen.setLineDash([]);
  pen.fillStyle = colours.ink;
  pen.textAlign = "left";
  pen.textBaseline = "top";
  pen.fillText(String(index + 1), x + 3, 3);
}
