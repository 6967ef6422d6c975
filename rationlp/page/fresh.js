// No farm yet: five questions make one. Which farm is most like it, when is winter, what is in
// store, which animals, and where prices come from.

import { el, faultList } from "./dom.js";

const TITLES = { farm: "The farm", winter: "Winter feeding" };

// offer: the farms that one may begin with; like: the chosen one.
export function fresh(offer, like, faults, acts) {
  const entries = entriesOf(offer.questions[like]);
  const isHerd = (entry) => entry.some((question) => question.path.endsWith(".head"));
  const isWinter = (entry) => ["farm", "winter"].includes(entry[0].path.split(".")[0]);
  const isStore = (entry) => !isHerd(entry) && !isWinter(entry);
  const rows = (wanted) => entries.filter(wanted).map((entry) => rowOf(entry, like));
  const others = entriesOf(offer.more[like]);
  const more = (id, words, wanted) =>
    el(
      "details",
      { id },
      el("summary", {}, words),
      others.filter(wanted).map((entry) => rowOf(entry, like)),
    );
  const ask = (words) => el("h2", {}, words);
  return [
    greeting(),
    faultList(faults),
    el(
      "form",
      { class: "fresh", id: "fresh", onsubmit: (event) => answered(event, like, acts) },
      ask("1  Which farm is most like yours?"),
      kindAndFolder(offer, like, acts),
      ask("2  When is winter?"),
      rows(isWinter),
      ask("3  What is in store?"),
      rows(isStore),
      more("more-stores", "Other stores: fill in those that you have", isStore),
      ask("4  Which animals?"),
      rows(isHerd),
      more("more-groups", "Other animals: fill in those that you have", isHerd),
      ask("5  Where do prices come from?"),
      el(
        "p",
        {},
        "From the example at first. Paste a price list under Buying, or move a price",
        " under What if.",
      ),
      el("button", { type: "submit", class: "main" }, "Make the farm"),
    ),
  ];
}

function greeting() {
  return el(
    "div",
    { class: "answer" },
    el("p", {}, "No farm here yet"),
    el("h1", {}, "Five questions make one."),
    el(
      "p",
      {},
      "Figures that stand here are the example's: put yours in their place, and leave empty",
      " what you have not. Everything can be changed afterwards.",
    ),
  );
}

function answered(event, like, acts) {
  event.preventDefault();
  const fields = [...event.target.querySelectorAll("input[name]")];
  const answers = Object.fromEntries(
    fields.map((field) => [field.name, field.value.trim() || "none"]),
  );
  acts.make({ folder_name: event.target.querySelector("#folder").value.trim(), like, answers });
}

// Questions about one store, one group, the winter: together.
function entriesOf(questions) {
  const entries = new Map();
  for (const question of questions) {
    const name = question.path.split(".")[0];
    entries.set(name, [...(entries.get(name) ?? []), question]);
  }
  return [...entries.values()];
}

function kindAndFolder(offer, like, acts) {
  return el(
    "fieldset",
    {},
    el("legend", {}, "Begin with"),
    el(
      "div",
      { class: "answers" },
      el(
        "p",
        {},
        el("label", { for: "like" }, "An example"),
        el(
          "select",
          { id: "like", value: like, onchange: (event) => acts.like(event.target.value) },
          offer.likes.map((name) => el("option", { value: name }, name)),
        ),
      ),
      el(
        "p",
        { class: "long" },
        el("label", { for: "folder" }, "Name of the farm's folder"),
        el("input", {
          id: "folder",
          type: "text",
          required: true,
          autocomplete: "off",
          value: "my-farm",
        }),
      ),
    ),
  );
}

function rowOf(entry, like) {
  const title = entry[0].about || TITLES[entry[0].path.split(".")[0]];
  return el(
    "fieldset",
    { "data-key": `${like}-${entry[0].path}` },
    el("legend", {}, title),
    el(
      "div",
      { class: "answers" },
      entry.map(answerOf),
    ),
  );
}

function answerOf({ path, words, value, dated }) {
  const id = `n-${path}`;
  return el(
    "p",
    { class: dated || /^[\d.]*$/.test(value) ? null : "long" },
    el("label", { for: id }, words),
    el("input", {
      id,
      name: path,
      type: dated ? "date" : "text",
      autocomplete: "off",
      value,
    }),
  );
}
