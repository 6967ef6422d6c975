// Elements from plain data. Every text goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";
const DRAWN = new Set(["svg", "rect", "path", "circle", "g", "text", "line", "title"]);

export function el(tag, attributes = {}, ...children) {
  const node = DRAWN.has(tag)
    ? document.createElementNS(SVG, tag)
    : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return node;
}

export function put(place, ...children) {
  place.replaceChildren(...children.flat().filter((child) => child));
}

// A drawing made by the server: parsed as SVG, scripts and foreign content left out.
export function drawing(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
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

// Two figures that count, as a feeder reads a weight.
export function weight(kg) {
  if (kg >= 100) return figure(kg, 0);
  if (kg >= 1) return figure(kg, 1);
  return figure(kg, kg >= 0.1 ? 2 : 3);
}

export function dayWords(day) {
  const form = { day: "numeric", month: "long", timeZone: "UTC" };
  return new Intl.DateTimeFormat("en-GB", form).format(new Date(`${day}T00:00:00Z`));
}
