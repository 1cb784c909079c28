// Building and renewing the page: `h` makes an element, `morph` turns what is there into what
// should be there, so that focus, scroll and half-typed text stay where they are.

import { language } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
// Handlers are properties, so that `morph` can hand them over from the fresh element.
const HANDLERS = ["onclick", "onchange", "oninput", "onkeydown", "onsubmit", "ontoggle"];

// Text of a drawing becomes elements where it comes into the page, and not each time it is there.
function later(element, text) {
  element.setAttribute("data-stamp", text.length);
  element.hsInside = () => document.createRange().createContextualFragment(text);
}

function fill(element, properties, children) {
  for (const [name, value] of Object.entries(properties || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (HANDLERS.includes(name)) element[name] = value;
    else if (name === "html") later(element, value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat(Infinity)) {
    if (child === undefined || child === null || child === false || child === "") continue;
    element.append(child instanceof Node ? child : String(child));
  }
  return element;
}

export function h(tag, properties, ...children) {
  const [name, ...classes] = tag.split(".");
  const element = document.createElement(name || "div");
  if (classes.length) element.className = classes.join(" ");
  if (name === "button") element.type = "button";
  return fill(element, properties, children);
}

export function s(tag, properties, ...children) {
  return fill(document.createElementNS(SVG, tag), properties, children);
}

// An element whose inside is made only where it differs from what stands there already: the same
// stamp, the same inside, in the same language. Most of a page is as it was after a reading.
export function lazily(tag, properties, stamp, inside) {
  const element = h(tag, { ...properties, "data-stamp": JSON.stringify([language(), stamp]) });
  element.hsInside = inside;
  return element;
}

function fillIn(node) {
  if (node.nodeType !== 1) return;
  if (node.hsInside) {
    const inside = node.hsInside;
    node.hsInside = null;
    fill(node, {}, [inside()]);
  }
  for (const child of node.children) fillIn(child);
}

// Text for eyes that cannot see: said by a screen reader, not shown.
export function unseen(text) {
  return h("span.hs-unseen", {}, text);
}

function same(old, fresh) {
  return (
    old.nodeType === fresh.nodeType &&
    old.nodeName === fresh.nodeName &&
    (old.nodeType !== 1 || old.getAttribute("data-key") === fresh.getAttribute("data-key"))
  );
}

function morphAttributes(old, fresh) {
  for (const { name, value } of fresh.attributes) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  if (old.attributes.length > fresh.attributes.length) dropAttributes(old, fresh);
  for (const name of HANDLERS) if (old[name] !== fresh[name]) old[name] = fresh[name];
}

function dropAttributes(old, fresh) {
  for (const { name } of [...old.attributes]) {
    // Whether a reader has opened a section is the reader's own business.
    if (name === "open" && old.nodeName === "DETAILS") continue;
    if (!fresh.hasAttribute(name)) old.removeAttribute(name);
  }
}

// A list follows what is chosen at the desk; a text field keeps what is being typed.
function morphValue(old, fresh) {
  if (fresh.nodeName === "SELECT" && fresh.hasAttribute("data-value")) {
    old.value = fresh.getAttribute("data-value");
  }
  if (fresh.nodeName === "INPUT" && fresh.getAttribute("data-value") !== old.hsValue) {
    old.hsValue = fresh.getAttribute("data-value");
    if (old.hsValue !== null) old.value = old.hsValue;
  }
}

export function morph(old, fresh) {
  if (!same(old, fresh)) {
    fillIn(fresh);
    old.replaceWith(fresh);
    settle(fresh);
    return fresh;
  }
  if (old.nodeType !== 1) {
    if (old.nodeValue !== fresh.nodeValue) old.nodeValue = fresh.nodeValue;
    return old;
  }
  if (fresh.hsInside && old.getAttribute("data-stamp") === fresh.getAttribute("data-stamp")) {
    morphAttributes(old, fresh);
    morphValue(old, fresh);
    return old;
  }
  if (fresh.hsInside) {
    fill(fresh, {}, [fresh.hsInside()]);
    fresh.hsInside = null;
  }
  morphAttributes(old, fresh);
  if (!fresh.hasAttribute("data-keep") || old.childNodes.length === 0) morphChildren(old, fresh);
  morphValue(old, fresh);
  return old;
}

function morphChildren(old, fresh) {
  const wanted = [...fresh.childNodes];
  const keyed = new Map();
  for (const child of old.childNodes) {
    const key = child.nodeType === 1 && child.getAttribute("data-key");
    if (key) keyed.set(key, child);
  }
  let at = old.firstChild;
  for (const child of wanted) {
    const key = child.nodeType === 1 && child.getAttribute("data-key");
    const match = key ? keyed.get(key) : at;
    if (match && same(match, child)) {
      if (match !== at) old.insertBefore(match, at);
      else at = at.nextSibling;
      morph(match, child);
    } else {
      fillIn(child);
      old.insertBefore(child, at);
      settle(child);
    }
  }
  while (at) {
    const next = at.nextSibling;
    at.remove();
    at = next;
  }
}

// Values of lists and fields that have just come into the page.
function settle(node) {
  if (node.nodeType !== 1) return;
  for (const one of [node, ...node.querySelectorAll("select[data-value], input[data-value]")]) {
    if (!one.hasAttribute || !one.hasAttribute("data-value")) continue;
    one.value = one.getAttribute("data-value");
    one.hsValue = one.value;
  }
}

export function show(root, fresh) {
  if (root.firstChild && root.childNodes.length === 1) return morph(root.firstChild, fresh);
  fillIn(fresh);
  root.replaceChildren(fresh);
  settle(fresh);
  return fresh;
}
