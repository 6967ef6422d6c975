// A place: the story of a command, with what can be changed there. What was fetched is kept, so
// that the day can be moved without asking again.

import { dayLine, happenings, laneRows } from "./days.js";
import { el, faultList, put } from "./dom.js";
import { things } from "./fields.js";
import { fetched } from "./link.js";
import { papers } from "./papers.js";
import { rulerOf } from "./ruler.js";
import { story } from "./story.js";

const LISTS = {
  stores: ["stores", "feeding"],
  animals: ["groups", "margins", "yard"],
  buying: ["bought", "outlets", "prices"],
  grow: ["land", "home_grown"],
  money: ["winter"],
};
const PAPERS = ["stores", "buying"];
// What is made of the plan, of the farm alone, and of the farm with the plan where it is there.
const OF_THE_PLAN = ["buying", "money", "why", "sheets", "sure"];
const OF_THE_FARM = ["animals", "switch", "worth", "grow"];
const ANSWERED = ["proved", "none", "refused"];
const ON_A_DAY = ["stores", "animals", "switch", "worth", "sheets"];
const SETTLE_MS = 250;

const NOTHING = { listed: null, told: null, day: null, of: null, version: null, spread: false };

let shown = { name: null, ...NOTHING };
let later = null;

// page: the state, the view, the paper read last, what was refused, and what can be done.
export async function renderPlace(main, name, page) {
  if (shown.name !== name) {
    shown = { name, ...NOTHING };
    main.replaceChildren();
  }
  drawPlace(main, page);
  const listed = LISTS[name] ? await fetched("/api/things") : null;
  if (shown.name !== name || page.left()) return;
  shown.listed = listed;
  drawPlace(main, page);
  await tell(main, page);
}

// A place is told again only where what it is made of is another; what is made of the plan waits
// until that is proved, so that nothing is worked out twice.
async function tell(main, page) {
  const { name } = shown;
  const { version, phase, kept_plan: kept, unsaved, tried } = page.state();
  const day = page.view().day;
  const answered = ANSWERED.includes(phase);
  const asWritten = name === "sheets" && kept && !unsaved && !tried.length;
  if (OF_THE_PLAN.includes(name) && !answered && !asWritten) return;
  const { spread } = shown;
  const of = [version, day, OF_THE_FARM.includes(name) || answered, spread].join();
  if (shown.of === of) return;
  shown.of = of;
  const told = await fetched(
    `/api/places/${name}?day=${day}${spread ? "&spread=1" : ""}`,
  );
  if (shown.name !== name || shown.of !== of || page.left()) return;
  shown = { ...shown, told: { ...told, spread }, day, version, of: told.fine ? of : null };
  drawPlace(main, page);
}

export function forgetPlace() {
  shown = { name: null, ...NOTHING };
}

function drawPlace(main, page) {
  const { name, listed, told } = shown;
  const state = page.state();
  const title = state.places.find((each) => each.name === name)?.title ?? name;
  const story_ = el("div", { id: "told-frame" }, telling(told, state));
  const editing = listed?.fine ? editable(name, listed.things, page) : null;
  const paper = PAPERS.includes(name) ? papers(page.paper(), page.acts) : null;
  const parts = name === "buying" ? [story_, editing, paper] : [editing, paper, story_];
  put(
    main,
    el("div", { class: "answer" }, el("h1", {}, title)),
    ON_A_DAY.includes(name) ? dayOf(main, page) : null,
    name === "sure" ? spreadAsked(main, page) : null,
    parts,
  );
}

// The plan for light stores and a late spring takes seconds, and so is made when it is asked for.
function spreadAsked(main, page) {
  if (shown.spread) {
    const words = "Working out a plan for light stores and a late spring.";
    return shown.told?.spread ? null : el("p", { class: "soft", role: "status" }, words);
  }
  const ask = () => {
    shown.spread = true;
    drawPlace(main, page);
    tell(main, page);
  };
  return el(
    "section",
    { class: "spread noprint", id: "spread", "aria-label": "Plan for the spread" },
    el("p", {}, "Stores may hold less than thought, and spring may come late."),
    el(
      "button",
      { type: "button", id: "ask-spread", onclick: ask },
      "What to do about it now, and when to look",
    ),
  );
}

// state: with its version, by which one sees whether what is told is of the farm before an edit.
function telling(told, state) {
  const note = (words) => el("p", { class: "soft", role: "status", id: "working" }, words);
  if (!told) return note("Working it out.");
  const current = shown.version === null || shown.version === state.version;
  return [
    current ? null : note("From before the last change; the new figures follow."),
    el("div", { id: "told" }, told.fine ? story(told) : faultList(told.faults ?? [])),
  ];
}

function dayOf(main, page) {
  const { days, answer } = page.state();
  const { day } = page.view();
  const ruler = rulerOf(days);
  const lanes = happenings(days, answer);
  const choose = (next) => {
    page.move(next);
    drawPlace(main, page);
    clearTimeout(later);
    later = setTimeout(() => tell(main, page), SETTLE_MS);
  };
  return [dayLine(ruler, lanes, day, days.today, choose), laneRows(ruler, lanes, day)];
}

function editable(name, all, page) {
  const { faults, answer, days, farm } = page.state();
  const own = all.filter((thing) => LISTS[name].includes(thing.list));
  const bars = new Map((answer?.enough.stores ?? []).map((bar) => [bar.id, bar]));
  const ruler = rulerOf(days);
  const view = {
    day: page.view().day,
    first: days.first,
    winter: ruler.winter,
    currency: farm.currency,
  };
  return el(
    "section",
    { class: "editing", id: "editing", "aria-label": "To change" },
    things(own, [...faults, ...page.refused()], { bars, view }, page.acts),
  );
}
