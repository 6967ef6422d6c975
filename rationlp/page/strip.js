// Have I enough? The answer in words, and a bar a store and a crop on the axis of days or by
// tonnes: hollow is fed, solid still to feed, dots are left over, a hatch is lacking, the pin is
// the need.

import { chooser, el, figure, upper } from "./dom.js";
import { endOf, monthLines } from "./ruler.js";

const TOP = "30%";
const THICK = "40%";
const FEEDS_ALL = ["settled", "proved"];

export function answerWords(answer, tried) {
  const { question, answer: verdict, stock, short } = answer.enough.verdict;
  const unmet = answer.phase === "none";
  const { told } = answer;
  const held = [
    stock ? el("p", {}, upper(stock)) : null,
    short.length ? lacking(short.join("; "), answer) : null,
  ];
  const unfed = [
    told.unfed ? el("p", {}, told.unfed) : null,
    told.short.map((line) => el("p", {}, line)),
  ];
  const costs = [
    told.remarks.map((line) => el("p", {}, line)),
    told.cost ? el("p", {}, `The winter: ${told.cost}`) : null,
    told.cost ? el("p", {}, buying(told.buy)) : null,
  ];
  return el(
    "div",
    { class: "answer" },
    el("p", {}, tried ? `${question} With what is tried:` : question),
    el("h1", {}, unmet ? "Not every need can be met." : `${verdict}.`),
    unmet ? [unfed, costs, held] : [held, costs],
  );
}

// What is bought, and from which month where that is not the first one.
function buying(items) {
  if (!items.length) return "Nothing is bought.";
  const words = items.map((item) => (item.begins ? `${item.words} (from ${item.begins})` : item.words));
  return [el("b", {}, "Buy: "), `${words.join("; ")}.`];
}

// Crops that would run out. Where a plan feeds all, they are short only of what would be eaten
// without it.
function lacking(crops, answer) {
  if (answer.phase === "none")
    return el("p", { class: "short" }, el("b", {}, "Short:"), ` ${crops}.`);
  return el(
    "p",
    {},
    el("b", {}, "Short if they ate all they would:"),
    ` ${crops}.`,
    answer.feeds_all ? " The plan feeds every group to turnout." : null,
  );
}

// former: the answer before what is tried; view: the day shown, and whether bars are by tonnes.
export function bars(answer, former, ruler, view, open) {
  const scale = view.scale === "tonnes" ? tonnesScale(answer.enough, former?.enough) : null;
  const was = new Map();
  for (const bar of former ? [...former.enough.crops, ...former.enough.stores] : [])
    was.set(bar.id, bar);
  const crops = answer.enough.crops.filter((crop) => crop.stores.length > 1 || crop.short > 0);
  const row = (bar) => line(bar, was.get(bar.id), ruler, view, scale, open);
  const caption = (words) => el("p", { class: "caption small soft" }, words);
  const planned = answer.enough.stores.some((store) => store.run.length);
  return el(
    "div",
    { class: "bars" },
    caption(
      planned
        ? "Each store, as the plan feeds it"
        : "Each store, fed as much as they would eat of it",
    ),
    answer.enough.stores.map(row),
    crops.length ? caption("Each crop, if they got all that they would eat of it") : null,
    crops.map(row),
    scale ? tonnesAxis(scale) : null,
  );
}

function line(bar, former, ruler, view, scale, open) {
  const crop = bar.kind === "crop";
  const name = crop
    ? el("span", { class: "h4" }, bar.name)
    : el(
        "button",
        { class: "word", type: "button", id: `open-${bar.id}`, onclick: () => open(bar.id) },
        bar.name,
      );
  const { head, rest } = bar;
  const picture = scale
    ? byTonnes(bar, former, scale, ruler, view.day)
    : byDays(bar, former, ruler, view.day);
  return el(
    "div",
    { class: "line", "data-key": `bar-${bar.id}` },
    el("div", {}, name),
    picture,
    el(
      "p",
      { class: bar.days_short > 0 ? "words short" : "words" },
      el("b", {}, upper(bar.words)),
      `, ${bar.more} `,
      el("small", { class: "soft" }, stock(bar)),
    ),
  );
}

function stock(bar) {
  const [low, typical, high] = ["low", "typical", "high"].map((each) =>
    figure(bar.held[each], bar.decimals),
  );
  return `${typical}\u00a0${bar.unit} held (${low} to ${high})`;
}

// Days on which a bar begins and ends, at the low, the typical and the high stock.
function spanOf(bar, ruler) {
  const { low, typical, high } = bar.held;
  const forever = 10 * ruler.ends;
  const ends = (tonnes) => {
    if (bar.run.length) return bar.opens ? (endOf(bar.run, ruler, tonnes) ?? forever) : forever;
    return bar.would_eat > 0 ? (ruler.winter * tonnes) / bar.would_eat : forever;
  };
  let end = ends(typical);
  if (bar.run.length && bar.lasts_to) end = ruler.number(bar.lasts_to);
  const first = Math.min(ends(low), end);
  // Where the high stock would never be used up, the soft edge is as wide above as below.
  const last = Math.max(Math.min(ends(high), 2 * end - first), end);
  const used = bar.run.length ? Boolean(bar.opens) : bar.would_eat > 0;
  return { opened: bar.opens ? ruler.number(bar.opens) : 0, end, low: first, high: last, used };
}

function byDays(bar, former, ruler, day) {
  const span = spanOf(bar, ruler);
  const need = ruler.winter;
  const now = bar.run.length ? Math.min(ruler.number(day), span.end) : 0;
  const parts = [];
  const block = (looks, from, to) => {
    if (Math.min(to, ruler.ends) - from > 0.05)
      parts.push(
        el("rect", {
          class: looks,
          x: ruler.at(from),
          y: TOP,
          width: ruler.wide(from, to),
          height: THICK,
        }),
      );
  };
  if (bar.short > 0) block("lack", span.end, need);
  if (span.used) {
    const soft = Math.max(Math.min(span.low, need), span.opened);
    block("solid", Math.max(span.opened, now), soft);
    block("fade", Math.max(soft, now), Math.min(span.high, need));
    block("left", Math.max(need, span.opened), span.end);
    block("eaten", span.opened, now);
  } else block("left", 0, 2 * ruler.ends);
  parts.push(endMark(span.used ? span.end : 2 * ruler.ends, ruler.ends, ruler.at));
  if (former) parts.push(...formerSpan(spanOf(former, ruler), span, ruler));
  const x = ruler.at(ruler.number(day));
  parts.push(pin(ruler.at(need)), el("line", { class: "dayl", x1: x, x2: x, y1: 0, y2: "100%" }));
  return el("svg", { class: "bar", "aria-hidden": "true" }, monthLines(ruler), parts);
}

function endMark(end, most, at) {
  if (end >= most) return el("text", { x: "100%", dx: 4, y: "60%" }, "›");
  return el("line", { class: "endl", x1: at(end), x2: at(end), y1: TOP, y2: "70%" });
}

function pin(x) {
  return el(
    "g",
    {},
    el("line", { class: "needl", x1: x, x2: x, y1: "18%", y2: "82%" }),
    el("circle", { class: "needc", cx: x, cy: "16%", r: 3 }),
  );
}

function formerSpan(was, span, ruler) {
  if (!was.used || (Math.abs(was.end - span.end) < 0.5 && was.opened === span.opened)) return [];
  return [
    el("rect", {
      class: "former",
      x: ruler.at(was.opened),
      y: "24%",
      width: ruler.wide(was.opened, was.end),
      height: "52%",
    }),
  ];
}

function needOf(bar) {
  return bar.run.length ? (bar.plan_uses ?? 0) + bar.short : (bar.would_eat ?? 0);
}

function tonnesScale(enough, before) {
  const all = [...enough.stores, ...enough.crops, ...(before ? before.stores : [])];
  const most = Math.max(...all.map((bar) => Math.max(bar.held.high, needOf(bar))), 1);
  const step =
    [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].find((size) => most / size <= 6) ??
    10000;
  const ends = step * Math.ceil(most / step);
  return { step, ends, at: (tonnes) => `${(100 * Math.min(tonnes, ends)) / ends}%` };
}

function byTonnes(bar, former, scale, ruler, day) {
  const need = needOf(bar);
  const fed = fedBy(bar, day);
  const { low, typical, high } = bar.held;
  const parts = [];
  const block = (looks, from, to) => {
    if (to - from > 0)
      parts.push(
        el("rect", {
          class: looks,
          x: scale.at(from),
          y: TOP,
          width: `${(100 * (to - from)) / scale.ends}%`,
          height: THICK,
        }),
      );
  };
  block("lack", typical, need);
  block("solid", fed, Math.min(low, need));
  block("fade", Math.max(fed, Math.min(low, need)), Math.min(high, need));
  block("left", need, high);
  block("eaten", 0, fed);
  parts.push(endMark(typical, 2 * scale.ends, scale.at));
  if (former)
    parts.push(
      el("rect", {
        class: "former",
        x: 0,
        y: "24%",
        width: scale.at(needOf(former)),
        height: "52%",
      }),
    );
  parts.push(pin(scale.at(need)));
  return el("svg", { class: "bar", "aria-hidden": "true" }, parts);
}

function tonnesAxis(scale) {
  const marks = [];
  for (let tonnes = 0; tonnes < scale.ends; tonnes += scale.step) {
    marks.push(
      el("text", { x: scale.at(tonnes), y: 14 }, `${figure(tonnes, 0)}${tonnes ? "" : "\u00a0t"}`),
    );
  }
  return el(
    "div",
    { class: "line" },
    el("span", {}),
    el("svg", { class: "axis", "aria-hidden": "true" }, marks),
    el("span", {}),
  );
}

// What is fed from a store by a day under the plan: between the days that are known, evenly.
export function fedBy(bar, day) {
  const { run } = bar;
  const next = run.findIndex((point) => point[0] > day);
  if (!run.length || next === 0) return 0;
  if (next < 0) return run[0][1] - run[run.length - 1][1];
  const [from, to] = [Date.parse(run[next - 1][0]), Date.parse(run[next][0])];
  const share = (Date.parse(day) - from) / (to - from);
  return run[0][1] - (run[next - 1][1] + share * (run[next][1] - run[next - 1][1]));
}

export function legend(scale, choose) {
  const looks = [
    ["eaten", "fed by the day shown"],
    ["solid", "still to feed"],
    ["fade", "from low to high stock"],
    ["left", "left over"],
    ["lack", "lacking"],
  ];
  const sample = (words, ...shapes) =>
    el("li", {}, el("svg", { "aria-hidden": "true" }, shapes), words);
  const block = (look) => el("rect", { class: look, y: 2, x: 1, width: 28, height: 12 });
  const need = sample(
    scale === "tonnes" ? "need to turnout" : "turnout",
    el("path", { class: "needl", d: "M15 3V16" }),
    el("circle", { class: "needc", cx: 15, cy: 3, r: 3 }),
  );
  const choices = [
    ["days", "by date"],
    ["tonnes", "in tonnes"],
  ];
  return el(
    "div",
    { class: "headrow small keys" },
    el(
      "ul",
      { class: "key" },
      looks.map(([look, words]) => sample(words, block(look))),
      need,
    ),
    chooser("scale", "Draw the stores", choices, scale, choose),
  );
}
