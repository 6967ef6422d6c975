// What they get: a card a group, in kg fresh for a head, for the group or for a load.

import { chooser, dayWords, el, figure, money, upper, weight } from "./dom.js";
import { tryIt } from "./enough.js";
import { daysBetween } from "./ruler.js";

const ROW = 28;
const LEAST = 4;
const LEAST_KG = 0.0005;

// The ration of a day; null on a day on which the group is not there.
export function rationOn(card, day, last) {
  const own = day >= last ? card.rations.filter((ration) => ration.last >= last) : card.rations;
  return own.find((ration) => ration.first <= day && (day < ration.last || day >= last)) ?? null;
}

// Where its animals stand on a day: the run of days that it lies in, days to a birth run down.
function stageOn(card, day) {
  const run = card.stages.findLast(([first]) => first <= day);
  if (!run) return "";
  const [first, days, words] = run;
  if (days === null) return words;
  const left = Math.max(0, days - daysBetween(first, day));
  return `${left} ${left === 1 ? "day" : "days"} ${words}`;
}

// How many heads the figures are for, and the words for it.
export function unitOf(ration, unit) {
  if (unit === "head") return [1, "kg fresh a head", "cost a head a day"];
  if (unit === "load" && ration.load)
    return [ration.load.kg_factor, "kg fresh a load", "cost a load"];
  const words = unit === "load" ? "kg fresh, no load: all" : "kg fresh, all";
  return [ration.head, `${words}\u00a0${figure(ration.head, 0)}`, "cost a day"];
}

export function cards(state, view, change, acts) {
  const { answer, before, days } = state;
  const former = new Map((before?.groups ?? []).map((card) => [card.id, card]));
  const loads = answer.groups.some((card) => card.rations.some((ration) => ration.load));
  const there = answer.groups.filter((card) => rationOn(card, view.day, days.last));
  const away = answer.groups.filter((card) => !there.includes(card));
  const shown = {
    ...view,
    last: days.last,
    first: days.first,
    currency: state.farm.currency,
    enough: state.enough,
  };
  return el(
    "section",
    { id: "cards", "aria-labelledby": "h-cards" },
    el(
      "div",
      { class: "headrow" },
      el(
        "h2",
        { id: "h-cards" },
        "What they get ",
        el("span", { class: "soft" }, `on ${dayWords(view.day)}`),
      ),
      units(view.unit, loads, (unit) => change({ unit })),
    ),
    answer.groups.length
      ? null
      : el(
          "p",
          {},
          "No plan feeds all of them to turnout, so no ration is shown. ",
          "Try what would do, or change stores, heads or what is bought.",
        ),
    el(
      "div",
      { class: `cards cols-${there.length > 2 ? 3 : 2}` },
      there.map((card) => one(card, former.get(card.id), shown, change, acts)),
    ),
    absent(away),
  );
}

function absent(groups) {
  if (!groups.length) return null;
  const words = `Not there on this day: ${groups.map(whenThere).join("; ")}.`;
  return el("p", { class: "small soft away" }, words);
}

function whenThere(card) {
  const [first, last] = [card.rations[0].first, card.rations.at(-1).last];
  return `${card.name} (from ${dayWords(first)} to ${dayWords(last)})`;
}

function units(unit, loads, choose) {
  const choices = [
    ["head", "a head"],
    ["group", "the group"],
  ];
  if (loads) choices.push(["load", "a load"]);
  return chooser("unit", "Amounts for", choices, unit, choose);
}

function one(card, formerCard, view, change, acts) {
  const ration = rationOn(card, view.day, view.last);
  const former = formerCard ? rationOn(formerCard, view.day, view.last) : null;
  const [times, words, costWords] = unitOf(ration, view.unit);
  const open = view.group === card.id;
  const stage = stageOn(card, view.day);
  return el(
    "article",
    { class: "card", "data-key": `card-${card.id}` },
    el(
      "h3",
      {},
      el(
        "button",
        {
          class: "word",
          type: "button",
          id: `card-${card.id}`,
          "aria-expanded": String(open),
          onclick: () => change({ group: open ? null : card.id }),
        },
        card.name,
      ),
    ),
    el(
      "p",
      { class: "stage" },
      [`${figure(ration.head, 0)}\u00a0head`, stage].filter(Boolean).join(" · "),
    ),
    el("div", { class: "mix" }, mix(ration, former, times)),
    sums(ration, former, times, [words, costWords], view.currency),
    el("div", {}, sentence(card, ration, view, acts), open ? balance(ration) : null),
  );
}

function sentence(card, ration, view, acts) {
  if (ration.short.length) {
    return el(
      "div",
      { class: "one warn" },
      el(
        "p",
        {},
        el("b", {}, ration.feeds.length ? "Short a head a day: " : "No ration: "),
        ration.short.join("; "),
      ),
      el(
        "p",
        { class: "tries noprint" },
        (view.enough?.changes ?? [])
          .filter((change) => change.kind === "head" && change.subject === card.group)
          .map((change) => tryIt(change, acts, "Try fewer head")),
        el(
          "button",
          { type: "button", class: "word", "data-key": "why", onclick: () => acts.go("/why") },
          "Why",
        ),
      ),
    );
  }
  const next = card.changes.find((each) => each.day > view.day);
  return el(
    "p",
    { class: "one" },
    next ? `${upper(next.words)}.` : "No sharp change before turnout.",
  );
}

function mix(ration, former, times) {
  const before = new Map((former?.feeds ?? []).map((feed) => [feed.id, feed]));
  const now = new Set(ration.feeds.map((feed) => feed.id));
  const gone = former ? former.feeds.filter((feed) => !now.has(feed.id)) : [];
  const feeds = ration.feeds.filter((feed) => feed.kg >= LEAST_KG);
  const kg = feeds.reduce((sum, feed) => sum + feed.kg, 0);
  if (!feeds.length && !gone.length) return el("p", { class: "soft" }, "No ration.");
  const rows = feeds.map((feed) => {
    const was = before.get(feed.id)?.kg ?? 0;
    const changed = former && Math.abs(was - feed.kg) > 0.005 * kg;
    return el(
      "li",
      {},
      el("span", { title: feed.name }, feed.name),
      el(
        "b",
        {},
        changed ? el("small", { class: "was" }, `${was ? weight(was * times) : "0"} → `) : null,
        weight(feed.kg * times),
      ),
    );
  });
  const away = gone.map((feed) =>
    el(
      "li",
      { class: "gone" },
      el("span", {}, feed.name),
      el("b", {}, el("small", { class: "was" }, `${weight(feed.kg * times)} → `), "0"),
    ),
  );
  return el("div", {}, feeds.length ? picture(feeds, kg) : null, el("ul", {}, rows, away));
}

// A stacked bar, each part at least so high that its fill can be seen.
function picture(feeds, kg) {
  const tall = feeds.length * ROW;
  const room = tall - 4;
  const least = feeds.map((feed) => Math.max(LEAST, (feed.kg / kg) * room));
  const fits = room / least.reduce((sum, high) => sum + high, 0);
  let top = 2;
  const parts = feeds.map((feed, number) => {
    const height = least[number] * fits;
    const line = number * ROW + ROW / 2;
    const drawn = [
      el("path", { class: "lead", d: `M42 ${top + height / 2}H47L60 ${line}H66` }),
      el("rect", { class: `seg ${feed.fill}`, x: 0, y: top, width: 42, height }),
    ];
    top += height;
    return drawn;
  });
  return el(
    "svg",
    { "aria-hidden": "true", viewBox: `0 0 72 ${tall}`, preserveAspectRatio: "none", height: tall },
    parts,
  );
}

function sums(ration, former, times, [words, costWords], currency) {
  const kg = ration.feeds.reduce((sum, feed) => sum + feed.kg, 0);
  const entries = [[words, weight(kg * times)]];
  if (ration.cost !== null) {
    const cost = money(currency, ration.cost * times);
    const was = former && former.cost !== null ? money(currency, former.cost * times) : cost;
    entries.push([
      costWords,
      [cost, was === cost ? null : el("small", { class: "was" }, ` was ${was}`)],
    ]);
  }
  return el(
    "dl",
    { class: "sums" },
    entries.map(([title, value]) => el("div", {}, el("dt", {}, title), el("dd", {}, value))),
  );
}

// Supply against need: a bar of what is supplied, the need as a tick on it.
function balance(ration) {
  const lines = ration.supply.filter((line) => line.need !== null && line.need > 0);
  return el(
    "div",
    {},
    el("p", { class: "small balance-head" }, "Supplied a head a day; the need is the tick"),
    el("ul", { class: "balance" }, lines.map(supplyLine)),
  );
}

function supplyLine(line) {
  const { supply, need, short } = line;
  const most = Math.max(supply, need) * 1.15;
  const at = (value) => (200 * value) / most;
  const block = (looks, from, to) =>
    to > from
      ? el("rect", { class: looks, x: at(from), y: 3, width: at(to - from), height: 10 })
      : null;
  return el(
    "li",
    {},
    el("span", {}, line.title),
    el(
      "svg",
      { viewBox: "0 0 200 16", preserveAspectRatio: "none", "aria-hidden": "true" },
      block("solid", 0, Math.min(supply, need)),
      block("left", need, supply),
      short ? block("lack", supply, need) : null,
      el("path", { class: "needl", d: `M${at(need)} 0v16` }),
    ),
    el(
      "small",
      {},
      `${weight(supply)} of ${weight(need)} ${line.unit}`,
      short ? el("b", {}, ", short") : "",
    ),
  );
}
