// Have I enough? A bar a store and a crop: its length is tonnes that can be fed, the pin is what
// the groups would eat to turnout.

import { el, figure } from "./dom.js";

const WIDE = 1000;
const TALL = 34;

export function strip(enough, before, day, open) {
  const bars = [...enough.crops.filter((crop) => (crop.stores || []).length > 1), ...enough.stores];
  const former = new Map();
  if (before) {
    for (const bar of [...before.crops, ...before.stores]) former.set(bar.id, bar);
  }
  return el(
    "section",
    { class: "strip", "aria-label": "Have I enough?" },
    el("h1", {}, enough.verdict),
    el("div", { class: "bars" }, bars.map((bar) => line(bar, former.get(bar.id), day, open))),
    legend(),
  );
}

function line(bar, former, day, open) {
  const name = bar.kind === "crop"
    ? el("span", { class: "h4" }, bar.name)
    : el("button", { class: "word", type: "button", onclick: () => open(bar.id) }, bar.name);
  const [head, ...rest] = bar.words.split(", ");
  return el(
    "div",
    { class: bar.kind === "crop" ? "line sum" : "line" },
    name,
    drawn(bar, former, day),
    el(
      "p",
      { class: bar.days_short > 0 ? "words short" : "words" },
      el("b", {}, head),
      rest.length ? `, ${rest.join(", ")}` : "",
      el("small", { class: "soft" }, stock(bar)),
    ),
  );
}

function stock(bar) {
  const held = bar.held;
  return `${figure(held.typical, 0)} ${bar.unit} held (${figure(held.low, 0)} to ${figure(held.high, 0)})`;
}

function drawn(bar, former, day) {
  const most = Math.max(bar.held.high, bar.would_eat ?? 0, 1e-9);
  const at = (tonnes) => (WIDE * tonnes) / most;
  const eaten = fedBy(bar, day);
  const needed = bar.would_eat === null ? bar.plan_uses : bar.would_eat;
  const fed = Math.min(needed ?? bar.held.typical, bar.held.typical);
  const picture = el("svg", {
    class: "bar", viewBox: `0 0 ${WIDE} 50`, preserveAspectRatio: "none", role: "img",
    "aria-label": `${bar.name}: ${bar.words}`,
  });
  const block = (looks, from, to) => {
    if (to - from > 0) picture.append(el("rect", { class: looks, x: at(from), y: 8, width: at(to - from), height: TALL }));
  };
  block("eaten", 0, Math.min(eaten, fed));
  block("solid", Math.min(eaten, fed), fed);
  block("left", fed, bar.held.typical);
  if ((needed ?? 0) > bar.held.typical) block("lack", bar.held.typical, needed);
  block("band", Math.max(bar.held.low, fed), Math.max(bar.held.low, fed));
  for (const edge of [bar.held.low, bar.held.high]) {
    picture.append(el("path", { class: "level", d: `M${at(edge)} 8v${TALL}` }));
  }
  if (needed !== null) {
    picture.append(el("path", { class: "needl", d: `M${at(needed)} 2v46` }));
  }
  if (former) {
    const ends = Math.min(former.would_eat ?? former.plan_uses ?? 0, most);
    picture.append(el("rect", { class: "former", x: 0, y: 4, width: at(ends), height: 42 }));
  }
  return picture;
}

// What is fed from a store by a day under the plan: the last known level before it.
function fedBy(bar, day) {
  if (!bar.run.length) return 0;
  const first = bar.run[0][1];
  let left = first;
  for (const [on, tonnes] of bar.run) {
    if (on > day) break;
    left = tonnes;
  }
  return first - left;
}

function legend() {
  const looks = [["eaten", "fed by the day shown"], ["solid", "still to feed"], ["left", "left at turnout"], ["lack", "lacking"]];
  const items = looks.map(([look, words]) =>
    el("li", {}, el("svg", { "aria-hidden": "true" }, el("rect", { class: look, y: 2, x: 1, width: 28, height: 12 })), words));
  const pin = el("li", {}, el("svg", { "aria-hidden": "true" }, el("path", { class: "needl", d: "M15 1v14" })), "what they would eat to turnout");
  const edges = el("li", {}, el("svg", { "aria-hidden": "true" }, el("path", { class: "level", d: "M15 1v14" })), "low and high stock");
  return el("ul", { class: "key small" }, items, pin, edges);
}
