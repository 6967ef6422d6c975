// The page: it shows what the program answers and sends what is changed. No figure is made here.

import { cards } from "./cards.js";
import { dayLine } from "./days.js";
import { dayWords, el, put } from "./dom.js";
import { papers, things } from "./fields.js";
import { fresh } from "./fresh.js";
import { edited, fetched, listen, sent } from "./link.js";
import { story } from "./story.js";
import { strip } from "./strip.js";
import { trial, whatIf } from "./whatif.js";

const LISTS = { stores: ["stores"], animals: ["groups"], buying: ["bought"] };

let state = null;
let view = { day: null, unit: "head", group: null };
let paper = null;
const main = document.querySelector("#main");
const place = () => location.pathname.slice(1);

async function refresh() {
  const answer = await fetched("/api/state");
  if (!answer.fine) return notice(answer.faults ?? []);
  if (state && answer.version < state.version) return;
  state = answer;
  if (!state.new && view.day === null) view.day = state.days.today;
  await render();
}

async function render() {
  heading();
  if (state.new) return freshFarm([]);
  if (place() && place() !== "new") return renderPlace();
  const held = document.activeElement?.id;
  const answer = state.answer;
  if (!answer) return put(main, el("h1", {}, "No answer yet"), faults(state.faults));
  const parts = {
    strip: strip(answer.enough, state.before?.enough, view.day, (id) => go(`/stores#thing-${id}`)),
    words: el("div", { class: "next said" }, el("div", {}, answer.words.map((line) => el("p", {}, line)))),
    days: dayLine(state.days, view.day, (day) => changeView({ day })),
    cards: cards(answer, state.before, view, changeView),
    whatif: whatIf(state, acts),
    cautions: grave(answer.cautions),
  };
  main.classList.toggle("stale", Boolean(answer.stale));
  swap(parts);
  if (held) document.getElementById(held)?.focus();
}

// Only what does not hold the pointer or the keyboard is replaced: a slider under the hand stays.
function swap(parts) {
  let frame = main.querySelector("#table");
  if (!frame) {
    frame = el("div", { id: "table" }, Object.keys(parts).map((name) => el("div", { id: `part-${name}` })));
    put(main, frame);
  }
  for (const [name, content] of Object.entries(parts)) {
    const box = frame.querySelector(`#part-${name}`);
    const dragged = box.contains(document.activeElement) && document.activeElement.type === "range";
    if (!dragged || !box.firstChild) put(box, content);
  }
  put(document.querySelector("#notices"), notices(), trial(state, acts));
}

function notices() {
  const lines = [state.said_phase, ...state.notices].filter(Boolean).map((line) => el("p", { class: "small soft" }, line));
  const changed = state.file_changed.length
    ? el("p", {}, el("b", {}, `${state.file_changed.join(", ")} changed on disk.`), " ", el("button", { type: "button", onclick: () => act("/api/reload") }, "Read it again"))
    : null;
  const offered = state.offered.length
    ? el("p", {}, `Edits of last time were not saved: ${state.offered.map((edit) => edit.words).join("; ")}. `,
        el("button", { type: "button", onclick: () => act("/api/offered", { take: true }) }, "Take them up"), " ",
        el("button", { type: "button", onclick: () => act("/api/offered", { take: false }) }, "Leave them"))
    : null;
  return [...lines, changed, offered, faults(state.faults)];
}

function faults(list) {
  return list.length ? el("ul", { class: "faults" }, list.map((fault) => el("li", {}, `${fault.code} ${fault.place}: ${fault.found}. ${fault.remedy}`))) : null;
}

function grave(cautions) {
  const lines = [...cautions.grave];
  if (!lines.length && !cautions.defer) return null;
  return el("section", { class: "warnings" }, el("h2", {}, "Can kill or maim"), el("ul", { class: "lines" }, lines.map((line) => el("li", {}, line))),
    cautions.others.length ? el("details", {}, el("summary", {}, "Other cautions"), el("ul", { class: "lines" }, cautions.others.map((line) => el("li", {}, line)))) : null,
    el("p", { class: "small soft" }, cautions.defer));
}

function heading() {
  if (state.new) return;
  document.title = state.farm.name;
  put(document.querySelector("#farm"), document.createTextNode(state.farm.name));
  put(document.querySelector("#days"), document.createTextNode(`${dayWords(state.farm.start)} to ${dayWords(state.farm.turnout)}`));
  const links = [{ name: "", title: "The table" }, ...state.places].map((each) =>
    el("li", {}, el("a", { href: `/${each.name}`, "aria-current": place() === each.name ? "page" : null, onclick: (event) => { event.preventDefault(); go(`/${each.name}`); } }, each.title)));
  put(document.querySelector("#places"), links);
  put(
    document.querySelector("#acts"),
    el("button", { type: "button", id: "undo", disabled: !state.can_undo, onclick: () => act("/api/undo") }, "Undo"),
    el("button", { type: "button", id: "redo", disabled: !state.can_redo, onclick: () => act("/api/redo") }, "Redo"),
    el("button", { type: "button", id: "save", disabled: !state.unsaved, onclick: () => act("/api/save") }, state.unsaved ? "Save" : "Saved"),
  );
}

async function renderPlace() {
  const name = place();
  put(document.querySelector("#notices"), notices(), trial(state, acts));
  if (main.dataset.place !== name) put(main, el("p", { class: "soft", role: "status" }, "Working it out."));
  main.dataset.place = name;
  const lists = LISTS[name];
  const open = [...main.querySelectorAll("details[open][id]")].map((each) => each.id);
  const [told, listed] = await Promise.all([fetched(`/api/places/${name}?day=${view.day}`), lists ? fetched("/api/things") : null]);
  if (place() !== name) return;
  const editable = listed?.fine ? things(listed.things.filter((thing) => lists.includes(thing.list)), state.faults, acts) : [];
  put(
    main,
    el("div", { id: "place" }, lists && name !== "animals" ? papers(paper, acts) : null, editable,
      told.fine ? [el("h1", {}, told.title), ...story(told)] : faults(told.faults ?? [])),
  );
  for (const id of [...open, location.hash.slice(1)]) document.getElementById(id)?.setAttribute("open", "");
}

async function freshFarm(wrong) {
  const offer = await fetched("/api/new");
  put(main, fresh(offer, wrong, async (answers) => {
    const made = await sent("/api/new", answers);
    if (made.fine) {
      view.day = null;
      main.replaceChildren();
      history.replaceState(null, "", "/");
      await refresh();
    } else await freshFarm(made.faults);
  }));
}

function changeView(change) {
  view = { ...view, ...change };
  render();
}

function go(address) {
  history.pushState(null, "", address);
  main.replaceChildren();
  delete main.dataset.place;
  render();
}

function notice(list) {
  put(document.querySelector("#notices"), faults(list));
}

async function act(address, content) {
  const answer = await sent(address, content);
  if (!answer.fine) notice(answer.faults ?? []);
  else await refresh();
}

// Moves that come faster than answers: the last one counts, one request is under way at a time.
let waiting = null;
let sending = false;

async function send(edits, trying) {
  waiting = { edits, trying };
  if (sending) return;
  sending = true;
  while (waiting) {
    const next = waiting;
    waiting = null;
    const answer = await edited(next.edits, next.trying);
    if (answer) await took(answer);
  }
  sending = false;
}

async function took(answer) {
  if (!answer.fine) state.faults = answer.faults ?? [];
  if (answer.quick && state.answer) quickly(answer.quick);
  await refresh();
}

// One group's new ration at once; the winter follows by an event.
function quickly(quick) {
  for (const group of quick.groups) {
    const card = state.answer.groups.find((each) => each.id === group.id);
    if (!card) continue;
    for (const ration of card.rations) {
      if (ration.first <= quick.day && quick.day < ration.last) Object.assign(ration, { cost: group.cost, feeds: group.feeds });
    }
  }
  render();
}

const acts = {
  try: (edits) => send(edits, true),
  edit: (edits) => send(edits, false),
  keep: () => act("/api/keep"),
  forget: () => act("/api/forget"),
  name: (name) => act("/api/sets", { name }),
  use: (name) => act("/api/sets", { name, use: true }),
  drop: (name) => act("/api/sets", { name, gone: true }),
  paper: readPaper,
  paperFile: (file) => {
    const reader = new FileReader();
    reader.onload = () => readPaper({ name: file.name, base64: reader.result.split(",")[1] }, false);
    reader.readAsDataURL(file);
  },
  answer: (key, word) => readPaper({ ...paper.sent, answers: { ...paper.sent.answers, [key]: word } }, false),
  takePaper: () => readPaper(paper.sent, true),
};

async function readPaper(content, write) {
  const answer = await sent("/api/papers", { answers: {}, ...content, write });
  const preview = answer.table ? el("div", {}, story({ parts: [{ type: "table", ...answer.table }] })) : null;
  paper = { ...answer, preview, sent: content };
  if (!answer.fine) paper.faults = answer.faults ?? [];
  await (write ? refresh() : renderPlace());
}

async function start() {
  const pictures = await (await fetch("/page/fills.svg")).text();
  document.querySelector("#fills").append(drawingOf(pictures));
  window.addEventListener("popstate", () => { main.replaceChildren(); delete main.dataset.place; render(); });
  await refresh();
  listen({
    state: refresh,
    file: refresh,
    progress: (event) => put(document.querySelector("#notices"), el("p", { class: "small soft" }, event.words ?? "")),
    ping: () => {},
    lost: () => notice([{ code: "", place: "", found: "The program has ended or cannot be reached", remedy: "Start it again with rationlp open" }]),
    found: refresh,
  });
}

function drawingOf(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  return document.importNode(parsed, true);
}

start();
