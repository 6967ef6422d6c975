// Elements from plain data. Every text goes in as text, never as markup. What is drawn anew is
// fitted into what stands there, so that nothing is taken from under the hand.

const SVG = "http://www.w3.org/2000/svg";
const DRAWN = new Set(["svg", "rect", "path", "circle", "g", "text", "line", "title", "polygon"]);
const TYPED = new Set(["INPUT", "SELECT", "TEXTAREA"]);

// An element. Attributes that begin with "on" listen; value and checked are what a field shows.
export function el(tag, attributes = {}, ...children) {
  const node = DRAWN.has(tag) ? document.createElementNS(SVG, tag) : document.createElement(tag);
  node.handlers = {};
  node.append(...children.flat(Infinity).filter(there));
  for (const [name, value] of Object.entries(attributes)) {
    if (!there(value)) continue;
    if (name.startsWith("on")) listen(node, name, value);
    else if (name === "value" && TYPED.has(node.nodeName)) show(node, value);
    else if (name === "checked") {
      node.checked = true;
      node.shown = true;
    } else node.setAttribute(name, value === true ? "" : String(value));
  }
  return node;
}

function there(value) {
  return value !== null && value !== undefined && value !== false;
}

function listen(node, name, handler) {
  node[name] = handler;
  node.handlers[name] = handler;
}

function show(node, value) {
  node.value = String(value);
  node.shown = node.value;
}

// Put children in a place: what is alike stays and is changed only where it differs.
export function put(place, ...children) {
  fitChildren(place, children.flat(Infinity).filter(there).map(asNode));
}

function asNode(child) {
  return child instanceof Node ? child : document.createTextNode(String(child));
}

function keyOf(node) {
  return node.nodeType === Node.ELEMENT_NODE ? node.id || node.getAttribute("data-key") : "";
}

function fitChildren(place, wanted) {
  const keyed = new Map([...place.childNodes].map((node) => [keyOf(node), node]));
  let at = place.firstChild;
  for (const node of wanted) {
    const key = keyOf(node);
    let old = at;
    if (key) old = keyed.get(key);
    else if (at && keyOf(at)) old = null;
    if (old && alike(old, node)) {
      if (old !== at) place.insertBefore(old, at);
      else at = at.nextSibling;
      fit(old, node);
    } else place.insertBefore(node, at);
  }
  while (at) {
    const next = at.nextSibling;
    at.remove();
    at = next;
  }
}

function alike(old, node) {
  return old.nodeName === node.nodeName && old.type === node.type && keyOf(old) === keyOf(node);
}

function fit(old, node) {
  if (old === node) return;
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== node.data) old.data = node.data;
    return;
  }
  const wasWrong = old.hasAttribute("aria-invalid");
  fitAttributes(old, node);
  for (const name of Object.keys(old.handlers ?? {})) old[name] = null;
  for (const [name, handler] of Object.entries(node.handlers ?? {})) old[name] = handler;
  old.handlers = node.handlers;
  fitChildren(old, [...node.childNodes]);
  if (TYPED.has(old.nodeName)) fitField(old, node, wasWrong && !old.hasAttribute("aria-invalid"));
}

function fitAttributes(old, node) {
  // Whether a fold is open is the reader's, once it is there.
  for (const { name } of [...old.attributes]) {
    if (!node.hasAttribute(name) && name !== "open") old.removeAttribute(name);
  }
  for (const { name, value } of node.attributes) {
    if (name !== "open" && old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
}

// A field takes another figure only where the program has another one: what is typed stays.
function fitField(old, node, mended) {
  const changed = old.shown !== node.shown;
  old.shown = node.shown;
  if (document.body.classList.contains("moving") && old.type === "range") return;
  if (!changed && !mended) return;
  if (old.type === "checkbox" || old.type === "radio") old.checked = node.checked;
  else if (old.value !== node.value) old.value = node.value;
}

export function faultList(faults) {
  if (!faults.length) return null;
  const lines = faults.map((fault) => el("li", {}, faultWords(fault)));
  return el("ul", { class: "faults", role: "alert" }, lines);
}

// A switch between a few words. choices: [value, words].
export function chooser(name, title, choices, chosen, choose) {
  const option = ([value, words]) => {
    const id = `${name}-${value}`;
    const checked = value === chosen;
    const onchange = () => choose(value);
    const field = el("input", { type: "radio", name, id, value, checked, onchange });
    return el("label", {}, field, el("span", {}, words));
  };
  const legend = el("legend", { class: "hide" }, title);
  return el("fieldset", { class: "switch noprint" }, legend, choices.map(option));
}

// A drawing made by the program: parsed as SVG, scripts and foreign content left out.
export function drawing(text) {
  let source = text;
  if (!source.includes("xmlns=")) source = source.replace("<svg", `<svg xmlns="${SVG}"`);
  const parsed = new DOMParser().parseFromString(source, "image/svg+xml").documentElement;
  if (parsed.nodeName !== "svg") return el("p", {}, "The drawing could not be read.");
  for (const foreign of parsed.querySelectorAll("script, foreignObject")) foreign.remove();
  return document.importNode(parsed, true);
}

const figures = new Map();

export function figure(value, decimals) {
  if (!figures.has(decimals)) {
    const form = { minimumFractionDigits: decimals, maximumFractionDigits: decimals };
    figures.set(decimals, new Intl.NumberFormat("en-GB", form));
  }
  return figures.get(decimals).format(value);
}

// Figures that count, as a feeder reads a weight.
export function weight(kg) {
  if (kg >= 100) return figure(kg, 0);
  if (kg >= 1) return figure(kg, 1);
  return figure(kg, kg >= 0.1 ? 2 : 3);
}

export function money(currency, amount) {
  return `${currency}\u00a0${figure(amount, Math.abs(amount) >= 100 ? 0 : 2)}`;
}

const days = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", timeZone: "UTC" });

export function dayWords(day) {
  return days.format(new Date(`${day}T00:00:00Z`)).replace(" ", "\u00a0");
}

// What is wrong, in a line: code and place only where there are any.
export function faultWords(fault) {
  const where = [fault.code, fault.place].filter(Boolean).join(" ");
  const ends = fault.remedy ? `. ${upper(fault.remedy)}.` : ".";
  return `${where ? `${where}: ` : ""}${fault.found}${ends}`;
}

export function upper(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function lower(text) {
  return text.charAt(0).toLowerCase() + text.slice(1);
}
