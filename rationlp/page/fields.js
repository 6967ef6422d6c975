// What can be edited: each store, group and bought feed with its fields, units, ranges and faults.

import { el, faultWords, figure, money, upper } from "./dom.js";
import { storeDrawing } from "./drawn.js";

const FILLED = { lab: "an", analysed: "an", typical: "ty", table: "ty", filled: "fi" };
const WORDS = { lab: "analysed", table: "typical" };
const TABLES = "The farm";

// around: bars of the stores by id, and the day shown.
export function things(list, faults, around, acts) {
  const shape = (thing) =>
    thing.list === "stores"
      ? store(thing, faults, around, acts)
      : fold(thing, faults, around, acts);
  const tables = list.filter((thing) => thing.kind === "table");
  const others = list.filter((thing) => thing.kind !== "table");
  return [
    others.length
      ? el("h2", {}, others[0].list === "stores" ? "What is there" : "To change")
      : null,
    others.map(shape),
    tables.length ? el("h2", { class: "apart noprint" }, TABLES) : null,
    tables.map(shape),
  ];
}

// A store: the answer on it, its drawing, and what can be changed.
function store(thing, faults, around, acts) {
  const bar = around.bars.get(thing.id);
  return el(
    "article",
    { class: "store", "data-key": `store-${thing.id}` },
    el("h3", {}, thing.name),
    bar
      ? el(
          "p",
          {},
          el("b", {}, `${figure(bar.held.typical, 0)}\u00a0t fresh`),
          ` to feed (${figure(bar.held.low, 0)} to ${figure(bar.held.high, 0)}). `,
          lastsWords(bar),
        )
      : null,
    storeDrawing(thing, bar, around.view),
    fold({ ...thing, name: "Sizes and figures" }, faults, around, acts),
  );
}

function lastsWords(bar) {
  const { head, rest } = bar;
  return rest ? `${head}, ${rest}.` : `${head}.`;
}

function fold(thing, faults, around, acts) {
  const wrong = thing.fields.some((field) => faults.some((fault) => fault.path === field.path));
  const set = thing.fields.filter(
    (field) => isSet(field) || faults.some((fault) => fault.path === field.path),
  );
  const rest = thing.fields.filter((field) => !set.includes(field));
  const rows = (fields) =>
    el(
      "div",
      { class: "fields" },
      fields.map((field) => row(field, faults, acts)),
    );
  const glance = glanceOf(thing, around);
  return el(
    "details",
    { class: "thing noprint", id: `thing-${thing.id}`, open: wrong },
    el(
      "summary",
      {},
      el(thing.list === "stores" ? "span" : "h3", {}, thing.name),
      glance ? el("small", {}, ` ${glance}`) : null,
      wrong ? el("b", { class: "fault" }, " to mend") : null,
    ),
    rows(set),
    rest.length
      ? el(
          "details",
          { class: "more", id: `more-${thing.id}` },
          el("summary", {}, `${rest.length} more that can be stated`),
          rows(rest),
        )
      : null,
  );
}

// The figure that one looks for first.
function glanceOf(thing, around) {
  const value = (key) => thing.fields.find((field) => field.key === key)?.value ?? null;
  if (thing.list === "bought" && value("price_per_t_fresh") !== null)
    return `${money(around.view.currency, value("price_per_t_fresh"))} a t fresh`;
  if (thing.list === "groups" && value("head") !== null) return `${figure(value("head"), 0)} head`;
  return thing.kind === "table" ? "" : thing.kind.replaceAll("_", " ");
}

function isSet(field) {
  return (
    field.required || (field.value !== null && field.value !== undefined && field.value !== false)
  );
}

function row(field, faults, acts) {
  const id = `f-${field.path}`;
  const fault = faults.find((each) => each.path === field.path);
  return el(
    "div",
    { class: fault ? "field wrong" : "field", "data-key": id },
    el("label", { for: id }, upper(field.words)),
    input(field, id, fault, acts),
    el("small", { class: "soft", id: `${id}-range` }, rangeOf(field), status(field)),
    fault ? el("p", { class: "fault small", id: `${id}-fault` }, faultWords(fault)) : null,
  );
}

function rangeOf(field) {
  const unit = field.unit && !field.words.endsWith(field.unit) ? field.unit : "";
  const [low, high] = [field.low ?? null, field.high ?? null];
  if (low === null && high === null) return unit;
  if (high === null || high > 1e8) return `${plain(low)} or more ${unit}`.trim();
  if (low === null) return `up to ${plain(high)} ${unit}`.trim();
  return `${plain(low)} to ${plain(high)} ${unit}`.trim();
}

function plain(number) {
  return figure(number, Number.isInteger(number) ? 0 : 2);
}

// Where a figure came from: a filled ring analysed, a half one typical, an open one filled in. A
// stated figure needs no mark.
function status(field) {
  if (!field.status || field.status === "stated") return null;
  return el(
    "span",
    { class: `st ${FILLED[field.status] ?? "fi"}` },
    WORDS[field.status] ?? field.status.replaceAll("_", " "),
  );
}

function input(field, id, fault, acts) {
  const shared = {
    id,
    "aria-describedby": fault ? `${id}-fault ${id}-range` : `${id}-range`,
    "aria-invalid": fault ? "true" : null,
  };
  const send = (value) => acts.edit([{ path: field.path, value }]);
  if (field.choices?.length) return choice(field, shared, send);
  if (field.kind === "flag") {
    const onchange = (event) => send(event.target.checked);
    return el("input", { ...shared, type: "checkbox", checked: field.value === true, onchange });
  }
  return typed(field, shared, send);
}

function choice(field, shared, send) {
  const option = (value, words) => el("option", { value }, words);
  const none = field.value === null || field.value === undefined;
  return el(
    "select",
    {
      ...shared,
      value: field.value ?? "",
      onchange: (event) => event.target.value && send(event.target.value),
    },
    none ? option("", "not stated") : null,
    field.choices.map((word) => option(word, word.replaceAll("_", " "))),
  );
}

function typed(field, shared, send) {
  const numeric = ["number", "whole"].includes(field.kind);
  return el("input", {
    ...shared,
    type: field.kind === "date" ? "date" : "text",
    inputmode: numeric ? "decimal" : null,
    autocomplete: "off",
    value: field.value ?? "",
    placeholder: field.kind === "date" ? null : "not stated",
    onchange: (event) => {
      const text = event.target.value.trim();
      const number = Number(text.replace(",", "."));
      if (text !== "") send(numeric && Number.isFinite(number) ? number : text);
      else if (field.value !== null && field.value !== undefined) event.target.value = field.value;
    },
  });
}
