// What if: a handle for what most often moves. Moving one tries it; keep makes it the farm's,
// forget puts it back; a name sets it aside, to stand beside others.

import { dayWords, el, faultWords, figure, money } from "./dom.js";
import { dayAt, daysBetween } from "./ruler.js";

const KINDS = {
  winter: "Turnout",
  bought: "Prices",
  group: "Heads",
  store: "Silage: dry matter and ME",
};

export function whatIf(state, acts) {
  return el(
    "section",
    { class: "whatif noprint", id: "what-if", "aria-labelledby": "h-what" },
    el("h2", { id: "h-what" }, "What if"),
    el(
      "div",
      { class: "what" },
      el(
        "div",
        { class: "ask" },
        Object.keys(KINDS).map((about) => kindOf(state, about, acts)),
      ),
      el("div", { class: "so" }, outcome(state), naming(state, acts), sets(state, acts)),
    ),
  );
}

function kindOf(state, about, acts) {
  const handles = state.handles.filter((handle) => handle.about === about);
  if (!handles.length) return null;
  const rows = el(
    "div",
    { class: "handles" },
    handles.map((handle) => row(handle, state, acts)),
  );
  if (about === "winter") return rows;
  const moved = handles.filter((handle) => handle.value !== handle.base).length;
  return el(
    "details",
    { open: moved > 0, id: `if-${about}` },
    el(
      "summary",
      {},
      el("h3", {}, KINDS[about]),
      moved ? el("small", {}, ` ${moved} moved`) : null,
    ),
    rows,
  );
}

function row(handle, state, acts) {
  const id = `h-${handle.path}`;
  const fault = state.faults.find((each) => each.path === handle.path);
  const what = ["head", "day"].includes(handle.what) ? "" : `, ${handle.what}`;
  const moved = handle.value !== handle.base;
  return el(
    "div",
    { class: moved ? "handle moved" : "handle", "data-key": id },
    el("label", { for: id }, `${handle.label}${what}`),
    el(
      "span",
      { class: "reads" },
      el("output", { for: id }, shown(handle, handle.value)),
      moved ? el("small", { class: "soft" }, ` was ${shown(handle, handle.base)}`) : null,
    ),
    slider(handle, id, fault, acts),
    el(
      "p",
      { class: "ends" },
      el("span", {}, shown(handle, handle.low)),
      el("span", {}, shown(handle, handle.high)),
    ),
    fault ? el("p", { class: "fault", id: `${id}-fault` }, faultWords(fault)) : null,
  );
}

function slider(handle, id, fault, acts) {
  const dated = handle.kind === "date";
  const [low, high, value, step] = dated
    ? [0, daysBetween(handle.low, handle.high), daysBetween(handle.low, handle.value), 1]
    : [handle.low, handle.high, handle.value, handle.step];
  return el("input", {
    id,
    type: "range",
    min: low,
    max: high,
    step,
    value,
    "aria-valuetext": shown(handle, handle.value),
    "aria-describedby": fault ? `${id}-fault` : null,
    "aria-invalid": fault ? "true" : null,
    oninput: (event) => {
      const number = Number(event.target.value);
      const now = dated ? dayAt(handle.low, number) : number;
      event.target.parentNode.querySelector("output").textContent = shown(handle, now);
      event.target.setAttribute("aria-valuetext", shown(handle, now));
      acts.try([{ path: handle.path, value: now }]);
    },
  });
}

function shown(handle, value) {
  if (handle.kind === "date") return dayWords(value);
  let decimals = 2;
  if (handle.step >= 1) decimals = 0;
  else if (handle.step >= 0.1) decimals = 1;
  return `${figure(value, decimals)} ${handle.unit}`.trim();
}

// What it does: the line of difference, and the cost now beside the cost before.
function outcome(state) {
  if (!state.tried.length) {
    return el(
      "div",
      {},
      el("p", { class: "said" }, "Move a slider to see what changes."),
      costRow(state),
    );
  }
  return el(
    "div",
    {},
    el("p", { class: "said" }, differenceWords(state)),
    el("p", { class: "small soft" }, "Tried: ", triedWords(state), "."),
    costRow(state),
    el("p", { class: "small soft" }, "Dashed outlines, above too: the answer as it was."),
  );
}

export function differenceWords(state) {
  if (state.difference) return `${state.difference}.`;
  if (state.phase === "none") return "Not every need can be met so.";
  if (state.phase === "refused") return "This cannot be answered; the last answer is shown.";
  const cost = state.answer?.cost ?? null;
  if (state.phase === "proved" && cost !== null)
    return `The winter costs ${money(state.farm.currency, cost)} so.`;
  return "Working out what it does.";
}

export function triedWords(state) {
  return editWords(state, state.tried);
}

// Edits as their sliders say them.
function editWords(state, edits) {
  const byPath = new Map(state.handles.map((handle) => [handle.path, handle]));
  return edits
    .map((edit) => {
      const handle = byPath.get(edit.path);
      if (!handle) return edit.words;
      const what = ["head", "day"].includes(handle.what) ? "" : ` ${handle.what}`;
      const value = handle.kind === "date" ? edit.value : Number(edit.value);
      return `${handle.label}${what} ${shown(handle, value)}`;
    })
    .join("; ");
}

function costRow(state) {
  const now = state.answer?.cost;
  const was = state.before?.cost ?? null;
  if (now === null || now === undefined) return null;
  const ends = scaleOf([now, was, ...state.sets.map((set) => set.cost)]);
  return el(
    "div",
    { class: "cmp" },
    el("span", {}, "Cost of the winter"),
    costLine(ends, now, was),
    el("b", {}, money(state.farm.currency, now)),
  );
}

function scaleOf(costs) {
  const known = costs.filter((cost) => cost !== null && cost !== undefined);
  const [least, most] = [Math.min(...known), Math.max(...known)];
  const room = Math.max(0.5 * (most - least), 0.05 * most, 1);
  return [least - room, most + room];
}

function costLine([low, high], now, was) {
  const x = (cost) => `${(100 * (cost - low)) / (high - low)}%`;
  const drawn = [el("line", { class: "endl", x1: 0, x2: "100%", y1: 16, y2: 16 })];
  if (was !== null) {
    drawn.push(el("line", { class: "costl", x1: x(was), x2: x(now), y1: 16, y2: 16 }));
    drawn.push(el("circle", { class: "former", cx: x(was), cy: 16, r: 11 }));
  }
  drawn.push(el("circle", { class: "solid", cx: x(now), cy: 16, r: 7 }));
  return el("svg", { "aria-hidden": "true", height: 32 }, drawn);
}

function naming(state, acts) {
  if (!state.tried.length) return null;
  const give = (event) => {
    event.preventDefault();
    const field = event.target.querySelector("input");
    const name = field.value.trim();
    if (!name) return field.focus();
    field.value = "";
    return acts.name(name);
  };
  return el(
    "form",
    { class: "acts", id: "naming", onsubmit: give },
    el("button", { type: "button", class: "main", onclick: acts.keep }, "Keep"),
    el("button", { type: "button", onclick: acts.forget }, "Forget"),
    el("label", { for: "set-name", class: "small" }, "Name"),
    el("input", {
      type: "text",
      id: "set-name",
      maxlength: 80,
      size: 16,
      placeholder: "Late spring",
    }),
    el("button", { type: "submit" }, "Put aside"),
  );
}

// Named sets beside each other, on one scale of cost.
function sets(state, acts) {
  if (!state.sets.length) return null;
  const base = (state.tried.length ? state.before?.cost : state.answer?.cost) ?? null;
  const ends = scaleOf([base, ...state.sets.map((set) => set.cost), state.answer?.cost]);
  const { currency } = state.farm;
  const line = (name, cost, edits, buttons) =>
    el(
      "tr",
      {},
      el("th", { scope: "row" }, name, edits ? el("small", { class: "soft" }, edits) : null),
      el("td", { class: "scale" }, cost === null ? null : costLine(ends, cost, base)),
      el("td", { class: "right" }, cost === null ? "not worked out" : money(currency, cost)),
      el("td", {}, buttons),
    );
  const rows = state.sets.map((set) =>
    line(set.name, set.cost, editWords(state, set.edits), setButtons(set.name, acts)),
  );
  return el(
    "table",
    { class: "sets" },
    el("caption", {}, "Put aside"),
    el("tbody", {}, line("The farm as it is", base, "", null), rows),
  );
}

function setButtons(name, acts) {
  const press = (words, looks, label, onclick) =>
    el("button", { type: "button", class: looks, "aria-label": label, onclick }, words);
  return [
    press("Try", null, `Try ${name}`, () => acts.use(name)),
    " ",
    press("Throw away", "word small", `Throw away ${name}`, () => acts.drop(name)),
  ];
}

// At the lower edge of every place while something is tried: what it does, keep, forget.
export function trial(state, acts) {
  if (!state.tried.length) return null;
  return el(
    "aside",
    { class: "trial noprint", "aria-label": "What is tried" },
    el(
      "p",
      { role: "status" },
      el("b", {}, differenceWords(state)),
      " ",
      el("small", { class: "soft" }, triedWords(state)),
    ),
    el(
      "div",
      { class: "acts" },
      el("button", { type: "button", class: "main", id: "keep", onclick: acts.keep }, "Keep"),
      el("button", { type: "button", id: "forget", onclick: acts.forget }, "Forget"),
    ),
  );
}
