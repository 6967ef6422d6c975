// A story as the program tells it: sentences, tables, charts, cautions; what a command shows only
// when asked for all is folded.

import { drawing, el } from "./dom.js";

export function story(told) {
  const open = told.parts.filter((part) => !part.full);
  const folded = told.parts.filter((part) => part.full);
  return [
    ...open.map(part_),
    folded.length ? el("details", { class: "all" }, el("summary", {}, el("h2", {}, "All of it")), folded.map(part_)) : null,
  ].filter(Boolean);
}

function part_(part) {
  if (part.type === "words") return words(part);
  if (part.type === "table") return table(part);
  if (part.type === "chart") return chart(part);
  if (part.type === "cautions") return cautions(part);
  return el("hr");
}

function words(part) {
  const lines = part.lines.filter(Boolean);
  const heading = part.title ? el("h2", {}, part.title) : null;
  if (part.dashes || lines.length > 3) return el("div", {}, heading, el("ul", { class: "lines" }, lines.map((line) => el("li", {}, line))));
  return el("div", {}, heading, lines.map((line) => el("p", {}, line)));
}

function table(part) {
  const head = part.columns.map((column) =>
    el("th", { scope: "col", class: column.align === "right" ? "right" : null }, column.title, column.unit ? el("small", {}, ` ${column.unit}`) : null));
  const rows = part.rows.map((row) =>
    el("tr", {}, row.map((text, number) => {
      const column = part.columns[number];
      const looks = column.align === "right" ? "right" : null;
      return el(number ? "td" : "th", { scope: number ? null : "row", class: looks, "data-t": column.title }, text);
    })));
  return el(
    "div",
    { class: "scroll", tabindex: 0, role: "region", "aria-label": part.title },
    el("table", {}, el("caption", {}, part.title), el("thead", {}, el("tr", {}, head)), el("tbody", {}, rows)),
    (part.notes || []).map((note) => el("p", { class: "small soft" }, note)),
  );
}

function chart(part) {
  const names = part.legend.map(([looks, name]) => el("li", {}, el("svg", { "aria-hidden": "true" }, el("path", { class: looks, d: "M0 8h30" })), name));
  return el("figure", {}, el("h2", {}, part.title), drawing(part.svg), el("figcaption", {}, el("ul", { class: "key small" }, names)));
}

function cautions(part) {
  const lists = [["Can kill or maim", part.grave], ["To mind", part.others], ["Every day", part.daily]];
  return el(
    "div",
    {},
    lists.filter(([, lines]) => lines && lines.length).map(([title, lines]) => [el("h2", {}, title), el("ul", { class: "lines" }, lines.map((line) => el("li", {}, line)))]),
    part.defer ? el("p", { class: "small soft" }, part.defer) : null,
  );
}
