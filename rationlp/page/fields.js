// What can be edited: each store, group and bought feed with its fields, units, ranges and faults.

import { drawing, el } from "./dom.js";

const STATUS = { analysed: "an", typical: "ty", filled: "fi", stated: "an" };

export function things(list, faults, act) {
  return list.map((thing) =>
    el(
      "details",
      { class: "thing", id: `thing-${thing.id}` },
      el("summary", {}, el("h2", {}, thing.name), el("span", { class: "soft" }, ` ${thing.kind}`)),
      thing.drawing ? drawing(thing.drawing) : null,
      el("div", { class: "fields" }, thing.fields.map((field) => row(field, faults, act))),
    ));
}

function row(field, faults, act) {
  const id = `f-${field.path}`;
  const fault = faults.find((each) => each.path === field.path);
  const range = [field.low, field.high].some((limit) => limit !== null && limit !== undefined)
    ? `${field.low ?? "…"} to ${field.high ?? "…"} ${field.unit || ""}`
    : field.unit || "";
  return el(
    "div",
    { class: fault ? "field wrong" : "field" },
    el("label", { for: id }, field.words),
    input(field, id, fault, act),
    el("small", { class: "soft", id: `${id}-range` }, range, field.status ? el("span", { class: `st ${STATUS[field.status] ?? ""}` }, ` ${field.status}`) : null),
    fault ? el("p", { class: "fault", id: `${id}-fault` }, `${fault.code} ${fault.found}: ${fault.remedy}`) : null,
  );
}

function input(field, id, fault, act) {
  const shared = { id, "aria-describedby": fault ? `${id}-fault ${id}-range` : `${id}-range`, "aria-invalid": fault ? "true" : null };
  const send = (value) => act.edit([{ path: field.path, value }]);
  if (field.choices && field.choices.length) {
    const options = field.choices.map((choice) => el("option", { value: choice, selected: choice === field.value }, choice));
    return el("select", { ...shared, onchange: (event) => send(event.target.value) }, options);
  }
  if (field.kind === "flag") {
    return el("input", { ...shared, type: "checkbox", checked: field.value === true, onchange: (event) => send(event.target.checked) });
  }
  const kinds = { number: "text", whole: "text", date: "date" };
  return el("input", {
    ...shared,
    type: kinds[field.kind] ?? "text",
    inputmode: ["number", "whole"].includes(field.kind) ? "decimal" : null,
    value: field.value ?? "",
    onchange: (event) => {
      const typed = event.target.value.trim();
      const number = Number(typed);
      const plain = ["number", "whole"].includes(field.kind) && typed !== "" && Number.isFinite(number);
      send(plain ? number : typed);
    },
  });
}

// A paper pasted or dropped: read by the program, shown before it is written.
export function papers(paper, act) {
  const text = el("textarea", { id: "paper", rows: 6, placeholder: "Paste a lab sheet or a price list, or drop the file here" });
  const drop = (event) => {
    event.preventDefault();
    const file = event.dataTransfer.files[0];
    if (file) act.paperFile(file);
  };
  return el(
    "section",
    { class: "paper noprint", ondragover: (event) => event.preventDefault(), ondrop: drop },
    el("h2", {}, el("label", { for: "paper" }, "From a lab sheet or a price list")),
    text,
    el("p", {}, el("button", { type: "button", onclick: () => act.paper({ name: "pasted.txt", text: text.value }, false) }, "Read it")),
    paper ? readPaper(paper, act) : null,
  );
}

function readPaper(paper, act) {
  if (paper.faults) return el("ul", { class: "faults" }, paper.faults.map((fault) => el("li", {}, `${fault.code} ${fault.place}: ${fault.found}. ${fault.remedy}`)));
  const questions = (paper.questions || []).map((question) =>
    el("p", {}, el("label", { for: `q-${question.key}` }, question.asks), " ",
      question.choices.length
        ? el("select", { id: `q-${question.key}`, onchange: (event) => act.answer(question.key, event.target.value) },
            el("option", { value: "" }, "choose"), question.choices.map(([word, means]) => el("option", { value: word }, `${word}: ${means}`)))
        : el("input", { id: `q-${question.key}`, onchange: (event) => act.answer(question.key, event.target.value) })));
  return el(
    "div",
    {},
    paper.preview ?? null,
    questions,
    (paper.remarks || []).map((line) => el("p", { class: "small" }, line)),
    paper.written
      ? el("p", { role: "status" }, `Written into ${paper.file}.`)
      : el("button", { type: "button", disabled: questions.length > 0, onclick: act.takePaper }, `Put into ${paper.file}`),
  );
}
