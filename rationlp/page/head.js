// What stands above every place: the farm, the places, undo and save, and what there is to say.

import { dayWords, el, faultList, faultWords, put } from "./dom.js";

const AROUND = 3;

export function heading(state, place, acts) {
  document.title = `${state.farm.name}, ${place ? titleOf(state, place) : "have I enough?"}`;
  put(document.querySelector("#farm"), state.farm.name);
  put(
    document.querySelector("#days"),
    `${dayWords(state.farm.start)} to ${dayWords(state.farm.turnout)}`,
  );
  put(
    document.querySelector("#places"),
    [{ name: "", title: "The winter" }, ...state.places].map((each) => {
      const follow = (event) => {
        if (event.ctrlKey || event.metaKey || event.shiftKey) return;
        event.preventDefault();
        acts.go(`/${each.name}`);
      };
      return el(
        "li",
        {},
        el(
          "a",
          {
            href: `/${each.name}`,
            "aria-current": place === each.name ? "page" : null,
            onclick: follow,
          },
          each.title,
        ),
      );
    }),
  );
  const button = (id, words, off, act) =>
    el("button", { type: "button", id, disabled: off, onclick: act }, words);
  put(
    document.querySelector("#acts"),
    button("undo", "Undo", !state.can_undo, acts.undo),
    button("redo", "Redo", !state.can_redo, acts.redo),
    button("save", state.unsaved ? "Save" : "Saved", !state.unsaved, acts.save),
    button("print", "Print", false, () => window.print()),
  );
}

function titleOf(state, place) {
  return state.places.find((each) => each.name === place)?.title ?? place;
}

// extra: what was refused last, which the program does not keep; conflict: both versions of a file.
export function notices(state, extra, conflict, acts) {
  const lines = [...state.notices].map((line) => el("p", { class: "small soft" }, line));
  const own = new Set(fieldsOnPage());
  const faults = [...state.faults, ...(conflict ? [] : extra)].filter(
    (fault) => !own.has(fault.path),
  );
  return [
    el("p", { class: `small soft phase ${state.phase}`, id: "phase" }, state.said_phase),
    lines,
    state.file_changed.length && !conflict ? changed(state, acts) : null,
    conflict ? versions(conflict, acts) : null,
    state.offered.length ? offered(state, acts) : null,
    faultList(faults),
  ];
}

function fieldsOnPage() {
  return [...document.querySelectorAll("main [aria-invalid]")].map((field) => field.id.slice(2));
}

function changed(state, acts) {
  return el(
    "p",
    { class: "notice" },
    el("b", {}, `${state.file_changed.join(", ")} changed on disk. `),
    "What you see is from before. ",
    el("button", { type: "button", id: "reload", onclick: acts.reload }, "Read it again"),
  );
}

function offered(state, acts) {
  return el(
    "p",
    { class: "notice" },
    `Edits of last time were not saved: ${state.offered.map((edit) => edit.words).join("; ")}. `,
    el(
      "button",
      { type: "button", id: "take-offered", onclick: () => acts.offered(true) },
      "Take them up",
    ),
    " ",
    el(
      "button",
      { type: "button", id: "leave-offered", onclick: () => acts.offered(false) },
      "Leave them",
    ),
  );
}

// A file that changed on disk meanwhile: what stands there beside what would be written.
function versions(conflict, acts) {
  const [disk, ours] = [conflict.disk.split("\n"), conflict.ours.split("\n")];
  return el(
    "section",
    { class: "conflict", id: "conflict", "aria-labelledby": "h-conflict" },
    el("h2", { id: "h-conflict" }, "Not saved: the file changed meanwhile"),
    el(
      "ul",
      {},
      conflict.faults.map((fault) => el("li", {}, faultWords(fault))),
    ),
    el(
      "div",
      { class: "versions" },
      version("On disk now", disk, new Set(ours)),
      conflict.ours ? version("As it would be saved", ours, new Set(disk)) : null,
    ),
    el("p", { class: "small soft" }, "Lines with ▸ are not the same in the other."),
    el(
      "p",
      { class: "acts" },
      el(
        "button",
        { type: "button", class: "main", id: "reload", onclick: acts.reload },
        "Read the disk again, keep my edits",
      ),
      el("button", { type: "button", onclick: acts.closeConflict }, "Not now"),
    ),
  );
}

// Lines that are not in the other version, with a few around them.
function version(title, lines, other) {
  const differs = lines.map((line) => !other.has(line));
  const near = lines.map((_, number) =>
    differs.slice(Math.max(0, number - AROUND), number + AROUND + 1).some(Boolean),
  );
  const rows = lines.map((line, number) => {
    if (!near[number]) return near[number - 1] ? el("span", { class: "soft" }, "  ⋯\n") : null;
    return el(
      "span",
      { class: differs[number] ? "differs" : null },
      differs[number] ? "▸ " : "  ",
      line,
      "\n",
    );
  });
  return el(
    "div",
    {},
    el("h3", {}, title),
    el("pre", { tabindex: 0, role: "region", "aria-label": title }, rows),
  );
}
