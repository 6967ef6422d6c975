// No farm yet: a few questions make one.

import { el, faultWords } from "./dom.js";

// offer: the farms that one may begin with; like: the chosen one.
export function fresh(offer, like, faults, acts) {
  const questions = offer.questions[like].map((question) =>
    el("p", { "data-key": `${like}-${question.path}` }, el("label", { for: `n-${question.path}` }, question.words),
      el("input", { id: `n-${question.path}`, name: question.path, type: "text", autocomplete: "off", value: question.value ?? "" })));
  const make = (event) => {
    event.preventDefault();
    const fields = [...event.target.querySelectorAll("input[name]")];
    const answers = Object.fromEntries(fields.map((field) => [field.name, field.value.trim() || "none"]));
    acts.make({ folder_name: event.target.querySelector("#folder").value.trim(), like, answers });
  };
  return [
    el("div", { class: "answer" },
      el("p", {}, "No farm here yet"),
      el("h1", {}, "Which farm?"),
      el("p", {}, "A few figures make one; everything can be changed afterwards. Leave a line empty where there is none of it.")),
    faults.length ? el("ul", { class: "faults", role: "alert" }, faults.map((fault) => el("li", {}, faultWords(fault)))) : null,
    el("form", { class: "fresh", id: "fresh", onsubmit: make },
      el("p", {}, el("label", { for: "like" }, "Most like"),
        el("select", { id: "like", value: like, onchange: (event) => acts.like(event.target.value) }, offer.likes.map((name) => el("option", { value: name }, name)))),
      el("p", {}, el("label", { for: "folder" }, "Name of its folder"), el("input", { id: "folder", type: "text", required: true, autocomplete: "off", value: "my-farm" })),
      questions,
      el("p", {}, el("button", { type: "submit", class: "main" }, "Make the farm"))),
  ];
}
