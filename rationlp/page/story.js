// A story as the program tells it: sentences, tables, charts, cautions; what a command shows only
// when asked for all is folded.

import { drawing, el } from "./dom.js";

const MANY = 3;

export function story(told) {
  if (told.kind === "sheet") return sheets(told.parts);
  const open = told.parts.filter((part) => !part.full);
  const folded = told.parts.filter((part) => part.full);
  return [
    pieces(open),
    folded.length
      ? el(
          "details",
          { class: "all", id: "all-of-it" },
          el("summary", {}, el("h2", {}, "All of it")),
          pieces(folded),
        )
      : null,
  ];
}

// Charts that follow each other stand side by side.
function pieces(parts) {
  const rows = [];
  for (const part of parts) {
    const before = rows.at(-1);
    if (part.type === "chart" && before?.[0].type === "chart") before.push(part);
    else rows.push([part]);
  }
  return rows.map((row) =>
    row.length > 1 ? el("div", { class: "charts" }, row.map(piece)) : piece(row[0]),
  );
}

// The sheets at length, one a group: their first lines say the same in brief and are left out.
function sheets(parts) {
  const pages = [[]];
  for (const part of parts.filter((each) => each.full || each.type === "cautions")) {
    if (part.type === "rule") pages.push([]);
    else pages.at(-1).push(part);
  }
  return pages
    .filter((page) => page.length)
    .map((page) => el("section", { class: "sheet" }, page.map(sheetPiece)));
}

function sheetPiece(part, number) {
  if (number > 0 || part.type !== "words") return piece(part);
  const [title, ...lines] = part.lines;
  return el(
    "div",
    { class: "piece" },
    el("h2", {}, title),
    lines.map((line) => el("p", {}, line)),
  );
}

function piece(part) {
  if (part.type === "words") return words(part);
  if (part.type === "table") return table(part);
  if (part.type === "chart") return chart(part);
  if (part.type === "cautions") return cautions(part);
  return el("hr");
}

function words(part) {
  const lines = part.lines.filter(Boolean);
  const heading = part.title ? el("h2", {}, part.title) : null;
  if (!heading && !lines.length) return null;
  if (!part.dashes && lines.length <= MANY)
    return el(
      "div",
      { class: "piece" },
      heading,
      lines.map((line) => el("p", {}, line)),
    );
  return el("div", { class: "piece" }, heading, list(lines));
}

function list(lines) {
  return el(
    "ul",
    { class: "lines" },
    lines.map((line) => el("li", {}, line)),
  );
}

export function table(part) {
  const head = part.columns.map((column) =>
    el(
      "th",
      { scope: "col", class: column.align === "right" ? "right" : null },
      column.title,
      column.unit ? el("small", {}, ` ${column.unit}`) : null,
    ),
  );
  const rows = part.rows.map((row) =>
    el(
      "tr",
      {},
      row.map((text, number) => {
        const column = part.columns[number];
        const looks = column.align === "right" ? "right" : null;
        return el(number ? "td" : "th", { scope: number ? null : "row", class: looks }, text);
      }),
    ),
  );
  const name = part.title || part.name;
  return el(
    "div",
    { class: "piece" },
    el(
      "div",
      { class: "scroll", tabindex: 0, role: "region", "aria-label": name },
      el(
        "table",
        {},
        el("caption", {}, part.title),
        el("thead", {}, el("tr", {}, head)),
        el("tbody", {}, rows),
      ),
    ),
    (part.notes ?? []).map((note) => el("p", { class: "small soft" }, note)),
  );
}

function chart(part) {
  if (!part.svg) return null;
  const names = part.legend.map((name, number) =>
    el("li", {}, drawing(part.swatches[number]), name),
  );
  return el(
    "figure",
    { class: "piece" },
    el("h2", {}, part.title),
    drawing(part.svg),
    el("figcaption", {}, el("ul", { class: "key small" }, names)),
  );
}

// Cautions: what can kill first, each with its own heading; a heading without lines is left out.
// brief: all that can kill or maim stands first, what holds every day too; the others are folded.
export function cautions(part, brief) {
  const kills = brief ? part.first : part.grave;
  const killing = new Set(kills.map((line) => line.name));
  const lists = [
    ["Can kill or maim", kills],
    ["To mind", part.others],
    ["Every day", part.daily.filter((line) => !killing.has(line.name))],
  ];
  const told = lists.filter(([, lines]) => lines?.length);
  if (!told.length && !part.defer) return null;
  const block = ([title, lines]) => {
    const items = el("ul", { class: "lines" }, lines.map(caution));
    if (!brief || lines === kills) return [el("h2", {}, title), items];
    const summary = el("summary", {}, el("h2", {}, title), el("small", {}, ` ${lines.length}`));
    return el("details", { id: `cautions-${title}`, class: "warned" }, summary, items);
  };
  return el(
    "div",
    { class: "piece" },
    told.map(block),
    part.defer ? el("p", { class: "small soft" }, part.defer) : null,
  );
}

// What it is, what to do, and in small print whom it is about; its name is for the command line.
function caution({ title, action, about }) {
  return el(
    "li",
    {},
    el("b", {}, `${title}: `),
    action,
    about ? el("small", { class: "soft" }, ` (${about})`) : null,
  );
}
