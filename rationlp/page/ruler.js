// The one axis of days: the slider, the marks and the bars of the stores are all drawn on it, so
// that a date is read straight down.

import { el } from "./dom.js";

const DAY = 86400000;
const BEYOND = 1.16;
const LEAST_DAYS = 10;

export function daysBetween(first, day) {
  return Math.round((Date.parse(day) - Date.parse(first)) / DAY);
}

export function dayAt(first, number) {
  return new Date(Date.parse(first) + number * DAY).toISOString().slice(0, 10);
}

// days: first and last of the winter. The axis goes on a little after turnout.
export function rulerOf(days) {
  const winter = Math.max(daysBetween(days.first, days.last), 1);
  const ends = winter * BEYOND;
  const at = (number) => `${(100 * Math.min(Math.max(number, 0), ends)) / ends}%`;
  return {
    first: days.first,
    winter,
    ends,
    at,
    number: (day) => daysBetween(days.first, day),
    wide: (from, to) => `${(100 * (Math.min(to, ends) - Math.max(from, 0))) / ends}%`,
  };
}

export function months(ruler) {
  const starts = [0];
  for (let number = 1; number < ruler.ends; number += 1) {
    if (dayAt(ruler.first, number).endsWith("-01")) starts.push(number);
  }
  return starts;
}

export function monthAxis(ruler) {
  const starts = months(ruler);
  const form = new Intl.DateTimeFormat("en-GB", { month: "short", timeZone: "UTC" });
  const marks = starts.map((start, number) => {
    const after = starts[number + 1] ?? ruler.ends;
    const name = form.format(new Date(Date.parse(ruler.first) + start * DAY));
    const x = ruler.at(start);
    return [
      start ? el("line", { class: "dayl", x1: x, x2: x, y1: 4, y2: 18 }) : null,
      after - start >= LEAST_DAYS ? el("text", { x, dx: start ? 4 : 0, y: 14 }, name) : null,
    ];
  });
  return el("svg", { class: "axis", "aria-hidden": "true" }, marks);
}

export function monthLines(ruler) {
  return months(ruler)
    .slice(1)
    .map((start) => {
      const x = ruler.at(start);
      return el("line", { class: "gridl", x1: x, x2: x, y1: 0, y2: "100%" });
    });
}

// The day on which a stock is gone, at what leaves the store by day; after turnout as in the last
// days before it. null where it never is. run: [day, tonnes left], from the first day on.
export function endOf(run, ruler, tonnes) {
  const full = run[0][1];
  const close = 1e-6 * Math.max(1, tonnes);
  let fed = null;
  for (let number = 1; number < run.length; number += 1) {
    const from = ruler.number(run[number - 1][0]);
    const to = ruler.number(run[number][0]);
    const used = full - run[number - 1][1];
    const more = full - run[number][1] - used;
    if (more > close) {
      if (used + more > tonnes + close) return from + ((to - from) * (tonnes - used)) / more;
      fed = to;
    }
  }
  if (fed !== null && full - run[run.length - 1][1] >= tonnes - close) return fed;
  const [before, last] = run.slice(-2).map((point) => [ruler.number(point[0]), point[1]]);
  if (!last || before[1] - last[1] <= close) return null;
  const left = tonnes - (full - last[1]);
  return last[0] + (left * (last[0] - before[0])) / (before[1] - last[1]);
}
