// The bench on the page: draws what the kernel says, sends what is clicked, keeps nothing.
import { h, s, show } from "./dom.js";
import { drawLeads } from "./points.js";
import { orderPanel } from "./order.js";
import { vehiclePanel } from "./vehicle.js";
import { placesPanel } from "./places.js";
import { sightPanel } from "./sight.js";
import { diagramPanel, drawMarks, where } from "./diagram.js";
import { connectorsPanel, mapPanel } from "./lookup.js";
import { drawScreen, screenPanel } from "./screen.js";
import { letLeadsBeDragged } from "./drag.js";
import { letDiagramBeMoved } from "./zoom.js";
import { goOn, standing, stay } from "./focus.js";
import { capital, segment } from "./parts.js";
import { meterPanel } from "./meter.js";
import { evidencePanel } from "./evidence.js";
import { suspectsPanel } from "./suspects.js";
import { callPanel } from "./call.js";
import { sheetPanel } from "./sheet.js";
import { showingPanel } from "./showing.js";
import { language, msg, speak, t } from "./words.js";

const PATIENCE = 6000; // ms without an answer or a sign of life until the page says so

let benches = 0;

class Bench {
  constructor(model, root) {
    this.model = model;
    this.root = root;
    this.local = {};
    this.name = `hs${++benches}-${Math.random().toString(36).slice(2, 8)}`;
    this.count = 0;
    this.sent = ""; // number of the last message that is not answered yet
    this.deed = ""; // the last deed that is not answered yet
    this.job = null; // what waits for the last answer
    this.next = ""; // selector of what the keyboard goes on to, once it is there
  }

  get view() {
    return this.model.get("view");
  }

  get drawing() {
    return this.model.get("drawing");
  }

  get sheet() {
    return this.model.get("sheet");
  }

  id(name) {
    return `${this.name}-${name.replace(/\W+/g, "-")}`;
  }

  // The kernel does messages in turn. The same deed twice before the first is answered is a slip of
  // the hand: a double click takes one reading.
  send(message) {
    const deed = "choose" in message ? "" : JSON.stringify(message);
    if (deed && deed === this.deed) return;
    this.deed = deed;
    this.sent = `${this.name}-${++this.count}`;
    this.local.hidden = "";
    this.root.setAttribute("aria-busy", "true");
    this.wait(PATIENCE);
    this.model.send({ seq: this.sent, tab: this.name, ...message });
  }

  wait(patience) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      Object.assign(this.local, { silent: true, working: "" });
      this.draw();
    }, patience);
  }

  // A sign of life: compiled work may hold the next one up, so it is waited for longer.
  works({ working, seq }) {
    if (seq !== this.sent) return;
    this.wait(5 * PATIENCE);
    if (this.local.working === working) return;
    Object.assign(this.local, { silent: false, working });
    this.draw();
  }

  // What depends on a choice waits until the kernel has said what follows from the choice.
  settled(job) {
    if (this.sent) this.job = job;
    else job();
  }

  // Of several tabs on one work order one has the pen; this one says that it is there.
  says(saying) {
    this.sent = `${this.name}-${++this.count}`;
    this.model.send({ seq: this.sent, tab: this.name, is: saying });
  }

  // A kernel that is gone needs no farewell.
  leave() {
    if (this.view.mode === "message") return;
    try {
      this.says("gone");
    } catch {
      this.sent = "";
    }
  }

  get penless() {
    const { pen } = this.view;
    return Boolean(pen && pen.holder && pen.holder !== this.name);
  }

  // What only the page knows: a form that is open, a stop that is chosen; and where the keyboard goes on.
  remember(changes, next = "") {
    Object.assign(this.local, changes);
    this.next = next;
    this.draw();
  }

  uses(target) {
    this.next = "";
    const control = target.closest("button, select, input");
    if (control && !control.closest(".hs-notice")) this.used = control;
  }

  // An answer that others are to follow is not drawn: it would turn back what was chosen since.
  answered() {
    const { seq, readout } = this.view;
    this.mindPen();
    if (this.sent && seq !== this.sent) return;
    clearTimeout(this.timer);
    this.sent = this.deed = "";
    const entry = readout ? readout.entry : null;
    if (this.entry !== undefined && entry !== this.entry) this.local.fresh = entry;
    this.entry = entry;
    Object.assign(this.local, { silent: false, working: "" });
    this.root.removeAttribute("aria-busy");
    const lines = (this.view.evidence || []).length;
    const closed = Boolean(this.view.order && this.view.order.closed);
    const closing = closed && this.closed === false;
    this.closed = closed;
    this.draw();
    if (closing) this.root.scrollIntoView({ block: "start" });
    if (lines > (this.lines || 0)) toTheEnd(this.root.querySelector(".hs-evidence .hs-scroll"));
    this.lines = lines;
    const { job } = this;
    this.job = null;
    if (job) job();
  }

  // A tab that has just lost the pen is still there, and lets the other one know.
  mindPen() {
    const lost = this.penless;
    if (lost && !this.hadLost) {
      this.sent = this.deed = "";
      this.hadLost = true;
      this.says("still");
      this.sent = "";
    }
    this.hadLost = lost;
  }

  get speech() {
    return this.model.get("speech");
  }

  draw() {
    speak(this.speech);
    this.root.lang = language();
    const stood = standing(this.root);
    show(this.root, page(this));
    stay(this.root, stood);
    if (goOn(this.root, this.next)) this.next = "";
    if (this.view.diagram) {
      drawMarks(this);
      drawScreen(this);
    }
    drawLeads(this.root);
    placeNotice(this.root, this.used);
  }
}

// A notice stands right under what was used, where the eyes are.
function placeNotice(root, used) {
  const notice = root.querySelector(".hs-notice:not(:empty)");
  if (!notice) return;
  const frame = root.getBoundingClientRect();
  const at = used && used.isConnected ? used.getBoundingClientRect() : frame;
  const room = frame.width - notice.offsetWidth - 8;
  notice.style.left = `${Math.max(8, Math.min(at.left - frame.left, room))}px`;
  notice.style.top = `${(at === frame ? at.top : at.bottom) - frame.top + 6}px`;
}

function toTheEnd(scroller) {
  if (scroller) scroller.scrollTop = scroller.scrollHeight;
}

function page(bench) {
  const { view } = bench;
  if (view.mode === "message") {
    return h(
      "section.hs-panel.hs-message",
      { role: "alert" },
      h("h3", {}, view.title),
      h("p", {}, view.text),
    );
  }
  if (view.mode === "show") {
    return h("div.hs-page", { "data-mode": "show" }, languages(bench), penLine(bench), showingPanel(bench), notice(bench));
  }
  const isCase = view.mode === "case";
  return h(
    "div.hs-page",
    { "data-mode": view.mode },
    languages(bench),
    penLine(bench),
    isCase && orderPanel(bench),
    isCase && view.order.closed && sheetPanel(bench),
    !(isCase && view.order.closed) && [vehiclePanel(bench), work(bench), screen(bench)],
    h(
      "div.hs-think",
      { "data-key": "think" },
      evidencePanel(bench),
      isCase && suspectsPanel(bench),
    ),
    isCase && callPanel(bench),
    notice(bench),
  );
}

function penLine(bench) {
  const { pen } = bench.view;
  if (bench.penless) {
    return h(
      "div.hs-pen",
      { "data-key": "pen", role: "alert" },
      h(
        "p",
        {},
        h("b", {}, t("Open in another tab.")),
        " ",
        t("This work order is being worked on there; nothing done here counts."),
      ),
      h("button.hs-go", { onclick: () => bench.says("here") }, t("Work here")),
    );
  }
  if (!pen || !pen.others.length) return null;
  return h(
    "div.hs-pen",
    { "data-key": "pen", role: "status" },
    h("p", {}, t("This work order is open in another tab as well. Only this one writes.")),
  );
}

// Each language under its own name; there for who cannot read the one that is spoken.
function languages(bench) {
  const { choices = [], language: now } = bench.speech || {};
  if (choices.length < 2) return null;
  const options = choices.map(([key, label]) => ({ key, label: h("span", { lang: key }, label) }));
  return h(
    "div.hs-language",
    { "data-key": "language" },
    segment(t("Language"), options, now, (chosen) => chosen !== now && bench.send({ language: chosen })),
  );
}

function work(bench) {
  return h(
    "div.hs-work",
    { "data-key": "work", "data-view": bench.view.meter.view },
    placesPanel(bench),
    middle(bench),
    meterPanel(bench),
    s("svg", { class: "hs-leads", "aria-hidden": "true", "data-keep": "true" }, s("g", {})),
  );
}

function screen(bench) {
  const { readout } = bench.view;
  return readout && readout.screen ? screenPanel(bench, readout) : null;
}

const VIEWS = {
  place: { label: msg("What you see"), panel: sightPanel },
  diagram: { label: msg("Diagram"), title: msg("The diagram"), panel: diagramPanel },
  vehicle: { label: msg("Vehicle"), title: msg("Where things are"), panel: mapPanel },
  connectors: { label: msg("Connectors"), title: msg("Connector faces"), panel: connectorsPanel },
};

function middle(bench) {
  const { sight, meter } = bench.view;
  const views = Object.entries(VIEWS).map(([key, { label }]) => ({ key, label: t(label) }));
  const { title, panel } = VIEWS[meter.view];
  return h(
    "section.hs-panel.hs-middle",
    { "data-key": "middle", "aria-label": t("What you see") },
    h(
      "div.hs-middle-head",
      {},
      h("h3", {}, title ? t(title) : capital(sight.place)),
      segment(t("View"), views, meter.view, (view) => bench.send({ choose: { view } })),
    ),
    panel(bench),
  );
}

function notice(bench) {
  const { view, local } = bench;
  if (local.working) {
    return h(
      "div.hs-notice",
      { "data-key": "notice", role: "alert" },
      h("p", {}, local.working),
      h("progress", { "aria-label": t("Working") }),
    );
  }
  const text = local.silent
    ? t("No answer from the kernel. It is busy, or it was restarted: then run this cell again; nothing is lost.")
    : view.notice;
  if (!text || local.hidden === text) return h("div.hs-notice", { "data-key": "notice", role: "alert" });
  return h(
    "div.hs-notice",
    { "data-key": "notice", role: "alert" },
    h("p", {}, text),
    h(
      "button.hs-quiet",
      { onclick: () => bench.remember({ hidden: text, silent: false }) },
      t("Understood"),
    ),
  );
}

// A paper that the kernel wrote, kept as a file.
function save({ name, type, text }) {
  const address = URL.createObjectURL(new Blob([text], { type: `${type};charset=utf-8` }));
  h("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

export function render({ model, el }) {
  // The notebook's own one-key commands must not fire while somebody works at the bench.
  const root = h("div.hs-bench", { "data-lm-suppress-shortcuts": "true" });
  el.append(root);
  const bench = new Bench(model, root);
  const answered = () => bench.answered();
  const redraw = () => bench.draw();
  const leads = () => {
    drawLeads(root);
    drawScreen(bench);
  };
  model.on("change:view", answered);
  model.on("change:sheet", redraw);
  model.on("change:speech", redraw);
  const told = (message) => {
    if (message.tab !== bench.name) return;
    if (message.paper) save(message.paper);
    if (message.working) bench.works(message);
  };
  model.on("msg:custom", told);
  root.addEventListener("scroll", () => drawLeads(root), true);
  for (const kind of ["pointerdown", "keydown", "change"]) {
    root.addEventListener(kind, (event) => bench.uses(event.target), true);
  }
  root.addEventListener("keydown", (event) => event.stopPropagation());
  letLeadsBeDragged(bench, root);
  letDiagramBeMoved(bench, root, where);
  const watcher = new ResizeObserver(leads);
  watcher.observe(root);
  bench.answered();
  if (bench.view.mode !== "message") bench.says("here");
  return () => {
    bench.leave();
    clearTimeout(bench.timer);
    watcher.disconnect();
    model.off("change:view", answered);
    model.off("change:sheet", redraw);
    model.off("change:speech", redraw);
    model.off("msg:custom", told);
  };
}
