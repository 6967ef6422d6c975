// One slider moves the day through the winter; what happens is marked on the same axis, a lane a
// kind, with the next of each in words.

import { dayWords, el } from "./dom.js";
import { dayAt, monthAxis } from "./ruler.js";

const LANES = [
  ["Stores", ["opens", "runs_out"]],
  ["Rations change", ["change"]],
  ["Calving", ["calving"]],
  ["Lambing", ["lambing"]],
  ["Groups", ["group"]],
];

// What happens on the days: marks of one day and kind are put together.
export function happenings(days, answer) {
  const names = new Map((answer?.groups ?? []).map((group) => [group.id, group.name]));
  const changes = (answer?.changes ?? []).map((change) => ({
    day: change.day,
    kind: "change",
    words: names.get(change.group) ?? change.group,
  }));
  const others = days.marks
    .filter((mark) => mark.kind !== "change")
    .map((mark) => (mark.kind === "opens" ? { ...mark, words: `${mark.words} opened` } : mark));
  return LANES.map(([title, kinds]) => ({
    title,
    marks: together([...others, ...changes].filter((mark) => kinds.includes(mark.kind))),
  })).filter((lane) => lane.marks.length);
}

function together(marks) {
  const byDay = new Map();
  for (const mark of marks.sort((a, b) => a.day.localeCompare(b.day))) {
    const there = byDay.get(mark.day);
    if (!there) byDay.set(mark.day, { ...mark, all: [mark.words] });
    else if (!there.all.includes(mark.words)) there.all.push(mark.words);
  }
  return [...byDay.values()].map((mark) => ({ ...mark, words: mark.all.join("; ") }));
}

export function dayLine(ruler, lanes, day, today, choose) {
  const stops = [...new Set(lanes.flatMap((lane) => lane.marks.map((mark) => mark.day)))].sort();
  const before = stops.filter((stop) => stop < day).at(-1) ?? ruler.first;
  const after = stops.find((stop) => stop > day) ?? dayAt(ruler.first, ruler.winter);
  const number = ruler.number(day);
  const words = number === ruler.winter ? "turnout" : `day ${number + 1} of ${ruler.winter}`;
  return el(
    "div",
    { class: "line day", id: "day-line" },
    el(
      "div",
      {},
      el("output", { for: "day" }, dayWords(day)),
      el("small", { class: "soft" }, day === today ? `${words}, today` : words),
    ),
    rail(ruler, number, day, choose),
    el(
      "div",
      { class: "go noprint" },
      jump("back", "Mark before", before, before >= day, choose, [
        "‹",
        el("span", {}, " Mark before"),
      ]),
      jump("on", "Next mark", after, after <= day, choose, [el("span", {}, "Next mark "), "›"]),
    ),
  );
}

function jump(id, label, stop, disabled, choose, words) {
  const onclick = () => choose(stop);
  return el("button", { type: "button", id, "aria-label": label, disabled, onclick }, words);
}

function rail(ruler, number, day, choose) {
  return el(
    "div",
    { class: "rail" },
    el("label", { class: "hide", for: "day" }, "Day of the winter"),
    el("input", {
      id: "day",
      type: "range",
      min: 0,
      max: ruler.winter,
      step: 1,
      value: number,
      "aria-valuetext": dayWords(day),
      oninput: (event) => choose(dayAt(ruler.first, Number(event.target.value))),
    }),
    el("small", { "aria-hidden": "true" }, "turnout"),
    monthAxis(ruler),
  );
}

export function laneRows(ruler, lanes, day) {
  return el(
    "div",
    { class: "lanes" },
    lanes.map((lane) => laneRow(ruler, lane, day)),
  );
}

function laneRow(ruler, lane, day) {
  const next = lane.marks.find((mark) => mark.day >= day);
  const says = next
    ? `${next.day === day ? "today" : dayWords(next.day)}: ${next.words}`
    : "none to come";
  const all = lane.marks.map((mark) => `${dayWords(mark.day)} ${mark.words}`).join(", ");
  const x = ruler.at(ruler.number(day));
  return el(
    "div",
    { class: "line", "data-key": `lane-${lane.title}` },
    el("span", {}, lane.title),
    el(
      "svg",
      { class: "lane", role: "img", "aria-label": `${lane.title}: ${all}` },
      el("line", { class: "gridl", x1: 0, x2: "100%", y1: 11, y2: 11 }),
      lane.marks.map((mark) => shape(mark, ruler)),
      el("line", { class: "dayl", x1: x, x2: x, y1: 0, y2: 22 }),
    ),
    el("span", { title: says }, says),
  );
}

const SHAPES = {
  opens: ["mark full", "M-5 12H5L0 2.5z"],
  runs_out: ["mark", "M-5 3H5L0 12.5z"],
  change: ["mark", "M-4.5 2.5H4.5V11.5H-4.5z"],
  calving: ["mark", "M-4.5 7a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0z"],
  lambing: ["mark", "M0 1.5L5.5 7 0 12.5-5.5 7z"],
  group: ["mark", "M-4 2V12M4 2V12M-4 7H4"],
};

function shape(mark, ruler) {
  const [looks, path] = SHAPES[mark.kind];
  return el(
    "svg",
    { class: "shape", x: ruler.at(ruler.number(mark.day)), y: 4 },
    el("path", { class: looks, d: path }, el("title", {}, `${dayWords(mark.day)}: ${mark.words}`)),
  );
}
