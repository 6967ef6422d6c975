// What they get: a card a group, in kg fresh for a head, for the group or for a load.

import { dayWords, el, figure, weight } from "./dom.js";

const ROW = 28;

export function rationOn(card, day) {
  const reached = card.rations.filter((ration) => ration.first <= day);
  return reached.length ? reached[reached.length - 1] : card.rations[0];
}

export function factor(ration, unit) {
  if (unit === "group") return ration.head;
  if (unit === "load" && ration.load) return ration.load.kg_factor;
  return 1;
}

export function cards(answer, before, view, change) {
  const former = new Map((before?.groups ?? []).map((card) => [card.id, card]));
  const loads = answer.groups.some((card) => card.rations.some((ration) => ration.load));
  return el(
    "section",
    { "aria-label": "What they get" },
    el(
      "div",
      { class: "headrow" },
      el("h2", {}, "What they get ", el("span", { class: "soft" }, dayWords(view.day))),
      units(view.unit, loads, (unit) => change({ unit })),
    ),
    el(
      "div",
      { class: "cards cols-3" },
      answer.groups.map((card) => one(card, former.get(card.id), view, change)),
    ),
  );
}

function units(unit, loads, choose) {
  const choices = [["head", "a head"], ["group", "the group"]];
  if (loads) choices.push(["load", "a load"]);
  const option = ([name, words]) =>
    el("label", {}, el("input", { type: "radio", name: "unit", value: name, checked: name === unit, onchange: () => choose(name) }), el("span", {}, words));
  return el("fieldset", { class: "switch" }, el("legend", { class: "hide" }, "kg fresh for"), choices.map(option));
}

function one(card, formerCard, view, change) {
  const ration = rationOn(card, view.day);
  const times = factor(ration, view.unit);
  const former = formerCard ? rationOn(formerCard, view.day) : null;
  const kg = ration.feeds.reduce((sum, feed) => sum + feed.kg, 0);
  const short = ration.short[0] ?? "";
  const sentence = short || card.next_change || "No sharp change before turnout.";
  return el(
    "article",
    { class: "card" },
    el("h3", {}, el("button", { class: "word", type: "button", "aria-expanded": view.group === card.id, onclick: () => change({ group: view.group === card.id ? null : card.id }) }, card.name)),
    el("p", { class: "stage" }, [`${ration.head} head`, card.stage].filter(Boolean).join(" · ")),
    el("div", { class: "mix" }, mix(ration, former, times)),
    sums(ration, former, kg, times, view.unit),
    el("div", {}, el("p", { class: short ? "one warn" : "one" }, sentence), view.group === card.id ? balance(ration) : null),
  );
}

function mix(ration, former, times) {
  const before = new Map((former?.feeds ?? []).map((feed) => [feed.id, feed.kg]));
  const feeds = ration.feeds;
  const kg = feeds.reduce((sum, feed) => sum + feed.kg, 0);
  const tall = Math.max(feeds.length * ROW, 1);
  const picture = el("svg", { "aria-hidden": "true", viewBox: `0 0 72 ${tall}`, preserveAspectRatio: "none" });
  let top = 0;
  feeds.forEach((feed, number) => {
    const height = (tall * feed.kg) / kg;
    const line = number * ROW + ROW / 2;
    picture.append(el("path", { class: "lead", d: `M42 ${top + height / 2}H47L60 ${line}H66` }));
    picture.append(el("rect", { class: `seg ${feed.fill}`, x: 0, y: top, width: 42, height }));
    top += height;
  });
  const rows = feeds.map((feed) => {
    const was = before.get(feed.id);
    const changed = former && Math.abs((was ?? 0) - feed.kg) > 0.005 * kg;
    return el("li", {}, el("span", {}, feed.name), el("b", {}, weight(feed.kg * times), changed ? el("small", { class: "was" }, ` was ${weight((was ?? 0) * times)}`) : null));
  });
  return el("div", {}, feeds.length ? picture : null, el("ul", {}, rows.length ? rows : el("li", {}, "no ration")));
}

function sums(ration, former, kg, times, unit) {
  const words = { head: "kg fresh a head", group: "kg fresh, all of them", load: "kg fresh a load" }[unit];
  const entries = [[words, weight(kg * times)]];
  if (ration.cost !== null) {
    const was = former && former.cost !== null && Math.abs(former.cost - ration.cost) > 0.005 ? ` was ${figure(former.cost, 2)}` : "";
    entries.push(["cost a head a day", el("span", {}, figure(ration.cost, 2), el("small", { class: "was" }, was))]);
  }
  return el("dl", { class: "sums" }, entries.map(([title, value]) => el("div", {}, el("dt", {}, title), el("dd", {}, value))));
}

// Supply against need: a bar of what is supplied, the need as a tick on it.
function balance(ration) {
  const lines = ration.supply.filter((line) => line.need !== null && line.need > 0);
  const row = (line) => {
    const most = Math.max(line.supply, line.need) * 1.15;
    const at = (value) => (200 * value) / most;
    const short = line.supply < line.need * 0.999;
    return el(
      "li",
      {},
      el("span", {}, line.title),
      el(
        "svg",
        { viewBox: "0 0 200 16", preserveAspectRatio: "none", "aria-hidden": "true" },
        el("rect", { class: "solid", y: 3, width: at(Math.min(line.supply, line.need)), height: 10 }),
        line.supply > line.need ? el("rect", { class: "left", x: at(line.need), y: 3, width: at(line.supply - line.need), height: 10 }) : null,
        short ? el("rect", { class: "lack", x: at(line.supply), y: 3, width: at(line.need - line.supply), height: 10 }) : null,
        el("path", { class: "needl", d: `M${at(line.need)} 0v16` }),
      ),
      el("small", {}, `${weight(line.supply)} of ${weight(line.need)} ${line.unit}`, short ? ", short" : ""),
    );
  };
  return el("ul", { class: "balance", "aria-label": "Supplied, and the need as a tick" }, lines.map(row));
}
