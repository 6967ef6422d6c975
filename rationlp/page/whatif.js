// What if: a handle for what most often moves. Moving one tries it; keep makes it the farm's,
// forget puts it back; a name sets it aside, to stand beside others.

import { dayAt, daysBetween } from "./days.js";
import { dayWords, el, figure } from "./dom.js";

const NAMES = { winter: "The winter", bought: "Bought feeds", store: "Stores", group: "Animals" };

export function whatIf(state, act) {
  const rows = Object.keys(NAMES).map((about) => kindOf(state, about, act));
  return el("section", { class: "whatif noprint", "aria-label": "What if" }, el("h2", {}, "What if"), rows);
}

function kindOf(state, about, act) {
  const handles = state.handles.filter((handle) => handle.about === about);
  if (!handles.length) return null;
  const changed = handles.some((handle) => handle.value !== handle.base);
  return el(
    "details",
    { open: changed || about === "winter", id: `if-${about}` },
    el("summary", {}, el("h3", {}, NAMES[about])),
    el("div", { class: "handles" }, handles.map((handle) => row(handle, state, act))),
  );
}

function row(handle, state, act) {
  const id = `h-${handle.path}`;
  const fault = state.faults.find((each) => each.path === handle.path);
  const dated = handle.kind === "date";
  const [low, high, value, step] = dated
    ? [0, daysBetween(handle.low, handle.high), daysBetween(handle.low, handle.value), 1]
    : [handle.low, handle.high, handle.value, handle.step];
  const says = el("output", { for: id }, shown(handle, handle.value));
  const read = (event) => (dated ? dayAt(handle.low, Number(event.target.value)) : Number(event.target.value));
  const slider = el("input", {
    id, type: "range", min: low, max: high, step, value, "aria-valuetext": shown(handle, handle.value),
    "aria-describedby": fault ? `${id}-fault` : null,
    oninput: (event) => {
      const moved = read(event);
      says.textContent = shown(handle, moved);
      event.target.setAttribute("aria-valuetext", shown(handle, moved));
      act.try([{ path: handle.path, value: moved }]);
    },
  });
  return el(
    "div",
    { class: handle.value === handle.base ? "handle" : "handle moved" },
    el("label", { for: id }, `${handle.label}: ${handle.what}`),
    slider,
    el("span", { class: "reads" }, says, handle.value === handle.base ? "" : el("small", { class: "soft" }, ` was ${shown(handle, handle.base)}`)),
    fault ? el("p", { class: "fault", id: `${id}-fault` }, `${fault.code} ${fault.found}: ${fault.remedy}`) : null,
  );
}

function shown(handle, value) {
  if (handle.kind === "date") return dayWords(value);
  const decimals = handle.step >= 1 ? 0 : handle.step >= 0.1 ? 1 : 2;
  return `${figure(value, decimals)} ${handle.unit}`.trim();
}

// The line that says what a trial does, and what to do with it.
export function trial(state, act) {
  const named = el("input", { type: "text", id: "set-name", maxlength: 40, size: 18 });
  const words = state.tried.map((edit) => edit.words).join("; ");
  const sets = state.sets.map((set) =>
    el("li", {}, el("button", { class: "word", type: "button", onclick: () => act.use(set.name) }, set.name), ` ${set.words} `, el("button", { class: "word", type: "button", onclick: () => act.drop(set.name), "aria-label": `Forget the set ${set.name}` }, "forget")));
  if (!state.tried.length && !sets.length) return null;
  return el(
    "aside",
    { class: "trial noprint", "aria-label": "What is tried" },
    state.tried.length
      ? [
          el("p", {}, el("b", {}, state.difference || "Working out what it does."), " ", el("small", { class: "soft" }, words)),
          el("div", { class: "acts" },
            el("button", { type: "button", id: "keep", onclick: act.keep }, "Keep"),
            el("button", { type: "button", id: "forget", onclick: act.forget }, "Forget"),
            el("label", { for: "set-name", class: "small" }, "or set aside as"), named,
            el("button", { type: "button", onclick: () => named.value && act.name(named.value) }, "Set aside")),
        ]
      : null,
    sets.length ? el("ul", { class: "small", "aria-label": "Set aside" }, sets) : null,
  );
}
