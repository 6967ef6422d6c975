// No farm yet: a few questions make one.

import { el } from "./dom.js";

export function fresh(offer, faults, make) {
  const first = Object.keys(offer.questions)[0];
  const form = el("form", { class: "fresh" });
  const fill = (like) => {
    const questions = offer.questions[like].map((question) =>
      el("p", {}, el("label", { for: `n-${question.path}` }, question.words), el("input", { id: `n-${question.path}`, name: question.path, value: question.value ?? "" })));
    form.replaceChildren(
      el("p", {}, el("label", { for: "like" }, "Most like"),
        el("select", { id: "like", onchange: (event) => fill(event.target.value) }, offer.likes.map((name) => el("option", { value: name, selected: name === like }, name)))),
      el("p", {}, el("label", { for: "folder" }, "Name of its folder"), el("input", { id: "folder", required: true, value: "my-farm" })),
      ...questions,
      el("p", {}, el("button", { type: "submit" }, "Make the farm")),
    );
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const fields = [...form.querySelectorAll("input[name]")];
    const answers = Object.fromEntries(fields.map((field) => [field.name, field.value.trim() || "none"]));
    make({ folder_name: form.querySelector("#folder").value, like: form.querySelector("#like").value, answers });
  });
  fill(first);
  return [
    el("h1", {}, "Which farm?"),
    el("p", {}, "A few figures make a farm; everything can be changed afterwards. An empty line means there is none."),
    faults.length ? el("ul", { class: "faults" }, faults.map((fault) => el("li", {}, `${fault.code} ${fault.found}: ${fault.remedy}`))) : null,
    form,
  ];
}
