// Where not every need can be met: single changes that would each be enough, a button a change that
// tries it. Each was planned again by the program before it is said.

import { el, money } from "./dom.js";

export function enough(state, acts) {
  const told = state.enough;
  if (!told) return null;
  const words = told.changes ? told.words : "Looking for single changes that would be enough.";
  return el(
    "section",
    { class: "enough noprint", id: "enough", "aria-labelledby": "h-enough" },
    el("h2", { id: "h-enough" }, "What would do"),
    el("p", { role: "status" }, words),
    el(
      "ul",
      {},
      (told.changes ?? []).map((change) => one(change, state.farm.currency, acts)),
    ),
  );
}

function one(change, currency, acts) {
  const cost = change.cost === null ? null : ` The winter then costs ${money(currency, change.cost)}.`;
  return el(
    "li",
    { "data-key": change.words },
    el("span", {}, change.words, cost ? el("small", { class: "soft" }, cost) : null),
    tryIt(change, acts, "Try it"),
  );
}

// The button that tries a change; a feed that is not bought so far wants its price first.
export function tryIt(change, acts, words) {
  if (change.edits.length) {
    const onclick = () => acts.try(change.edits);
    return el("button", { type: "button", "aria-label": `${words}: ${change.words}`, onclick }, words);
  }
  if (change.kind !== "buy") return null;
  const onclick = () => acts.go("/buying");
  return el("button", { type: "button", onclick }, "Give its price");
}
