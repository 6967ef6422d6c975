// One slider moves the day through the winter; what happens on it is marked along the same line.

import { dayWords, el } from "./dom.js";

const DAY = 86400000;

export function daysBetween(first, day) {
  return Math.round((Date.parse(day) - Date.parse(first)) / DAY);
}

export function dayAt(first, number) {
  return new Date(Date.parse(first) + number * DAY).toISOString().slice(0, 10);
}

export function dayLine(days, day, choose) {
  const last = daysBetween(days.first, days.last);
  const says = el("output", { for: "day" }, dayWords(day));
  const slider = el("input", {
    id: "day", type: "range", min: 0, max: Math.max(last - 1, 0), step: 1, value: daysBetween(days.first, day),
    "aria-valuetext": dayWords(day),
    oninput: (event) => {
      const moved = dayAt(days.first, Number(event.target.value));
      says.textContent = dayWords(moved);
      event.target.setAttribute("aria-valuetext", dayWords(moved));
      choose(moved);
    },
  });
  const places = days.marks.map((mark) => {
    const across = `${(100 * daysBetween(days.first, mark.day)) / Math.max(last, 1)}%`;
    return el("g", {}, el("title", {}, `${dayWords(mark.day)}: ${mark.words}`), el("circle", { class: mark.kind === "turnout" ? "mark full" : "mark", cx: across, cy: 11, r: 5 }));
  });
  const upcoming = days.marks.filter((mark) => mark.day >= day).slice(0, 3);
  return el(
    "section",
    { class: "days noprint", "aria-label": "The day" },
    el("div", { class: "headrow" }, el("label", { for: "day", class: "h4" }, "The day"), says),
    slider,
    el("svg", { class: "lane", "aria-hidden": "true" }, places),
    el("p", { class: "small soft" }, upcoming.map((mark) => `${dayWords(mark.day)}: ${mark.words}`).join(" · ")),
  );
}
