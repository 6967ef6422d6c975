// A paper pasted or dropped: read by the program, shown before it is written.

import { el, faultList } from "./dom.js";
import { table } from "./story.js";

export function papers(paper, acts) {
  const read = () => {
    const text = document.querySelector("#paper").value;
    if (text.trim()) acts.paper({ name: "pasted.txt", text }, false);
  };
  const drop = (event) => {
    event.preventDefault();
    const file = event.dataTransfer.files[0];
    if (file) acts.paperFile(file);
  };
  return el(
    "section",
    {
      class: "paper noprint",
      id: "papers",
      "aria-labelledby": "h-paper",
      ondragover: (event) => event.preventDefault(),
      ondrop: drop,
    },
    el("h2", { id: "h-paper" }, "From a paper"),
    el("label", { for: "paper" }, "Paste a lab sheet or a price list here, or drop the file"),
    el("textarea", { id: "paper", rows: 4, spellcheck: "false" }),
    el(
      "p",
      { class: "acts" },
      el("button", { type: "button", id: "read-paper", onclick: read }, "Read it"),
      el("label", { for: "paper-file", class: "small" }, "or a file"),
      el("input", {
        type: "file",
        id: "paper-file",
        accept: ".pdf,.xlsx,.csv,.txt,.tsv",
        onchange: (event) => event.target.files[0] && acts.paperFile(event.target.files[0]),
      }),
    ),
    paper ? outcome(paper, acts) : null,
  );
}

function outcome(paper, acts) {
  if (paper.faults?.length) return faultList(paper.faults);
  const questions = paper.questions.map((question) => ask(question, acts));
  return el(
    "div",
    { id: "paper-read" },
    paper.table.rows.length ? table(paper.table) : null,
    questions.length ? el("h3", {}, "To be answered first") : null,
    questions,
    paper.remarks.map((line) => el("p", { class: "small" }, line)),
    paper.aside.length
      ? el(
          "details",
          { id: "paper-aside" },
          el("summary", {}, `${paper.aside.length} lines left aside`),
          el(
            "ul",
            { class: "small" },
            paper.aside.map((line) => el("li", {}, line)),
          ),
        )
      : null,
    paper.written
      ? el("p", { role: "status" }, el("b", {}, `Written into ${paper.file}.`))
      : el(
          "button",
          {
            type: "button",
            class: "main",
            id: "take-paper",
            disabled: questions.length > 0,
            onclick: acts.takePaper,
          },
          `Put into ${paper.file}`,
        ),
  );
}

function ask(question, acts) {
  const id = `q-${question.key}`;
  const answer = (event) => event.target.value && acts.answer(question.key, event.target.value);
  const field = question.choices.length
    ? el(
        "select",
        { id, value: "", onchange: answer },
        el("option", { value: "" }, "choose"),
        question.choices.map(([word, means]) =>
          el("option", { value: word }, means && means !== word ? `${word}: ${means}` : word),
        ),
      )
    : el("input", { id, type: "text", onchange: answer });
  return el(
    "p",
    { class: "asked", "data-key": id },
    el("label", { for: id }, question.asks),
    field,
  );
}
