// The page: it shows what the program answers and sends what is changed. No figure is made here.

import { cards } from "./cards.js";
import { dayLine, happenings, laneRows } from "./days.js";
import { drawing, el, faultList, put } from "./dom.js";
import { enough } from "./enough.js";
import { fresh } from "./fresh.js";
import { heading, notices } from "./head.js";
import { edited, fetched, listen, sent } from "./link.js";
import { forgetPlace, renderPlace } from "./place.js";
import { rulerOf } from "./ruler.js";
import { cautions } from "./story.js";
import { answerWords, bars, legend } from "./strip.js";
import { trial, whatIf } from "./whatif.js";

let state = null;
let view = { day: null, unit: "head", scale: "days", group: null };
let quick = null;
let heard = null;
let paper = null;
let refused = [];
let conflict = null;
let offer = null;
let like = null;
const main = document.querySelector("#main");
const place = () => location.pathname.slice(1);

async function refresh() {
  const had = state;
  const { answer, before } = marks(had);
  const come = await fetched(`/api/state?answer=${answer}&before=${before}`);
  if (!come.fine) return refuse(come);
  await shows(come, had);
}

// A state that came, of which what the page had is not sent again.
async function shows(answer, had) {
  if (state && !state.new && isOlder(answer, state)) return;
  for (const part of ["answer", "before"]) if (answer[part]?.same) answer[part] = had[part];
  state = answer;
  if (!state.new && view.day === null) view.day = state.days.today;
  if (!state.new) view.day = [view.day, state.days.first].sort()[1];
  if (!state.new) view.day = [view.day, state.days.last].sort()[0];
  await render();
}

function isOlder(one, other) {
  return one.version < other.version || (one.version === other.version && one.said < other.said);
}

// The answers that the page has.
function marks(had) {
  return { answer: had?.answer?.mark ?? "", before: had?.before?.mark ?? "" };
}

async function render() {
  if (!state) return;
  document.body.classList.toggle("moving", sending || pressed);
  if (state.new) return freshFarm([]);
  heading(state, place(), acts);
  put(document.querySelector("#trial"), trial(state, acts));
  if (place() && place() !== "new") return drawPlace();
  renderWinter(false);
  say();
}

// dayOnly: nothing changed but the day or how it is shown, so that what knows no day stays.
function renderWinter(dayOnly) {
  forgetPlace();
  const stays = (id, make) => (dayOnly && document.getElementById(id)) || make();
  const answer = withQuick(state);
  if (!answer) {
    const words = state.faults.length ? "This farm cannot be answered yet" : "Working it out";
    return put(
      main,
      el("div", { class: "answer" }, el("p", {}, "Have I enough?"), el("h1", {}, words)),
    );
  }
  const ruler = rulerOf(state.days);
  const lanes = happenings(state.days, answer);
  const former = state.tried.length ? state.before : null;
  const { cautions: warned } = answer;
  main.classList.toggle("stale", state.stale && state.phase === "refused");
  return put(
    main,
    answerWords(answer, state.tried.length > 0),
    enough(state, acts),
    dayLine(ruler, lanes, view.day, state.days.today, (day) => changeView({ day })),
    laneRows(ruler, lanes, view.day),
    bars(answer, former, ruler, view, (id) => go(`/stores#thing-${id}`)),
    legend(view.scale, (scale) => changeView({ scale })),
    cards({ ...state, answer, before: former }, view, changeView, acts),
    stays("what-if", () => whatIf(state, acts)),
    stays("cautions", () =>
      el(
        "section",
        { class: "warnings", id: "cautions", "aria-label": "Cautions" },
        cautions(warned, true),
        answer.proof ? el("p", { class: "small soft" }, answer.proof) : null,
      ),
    ),
  );
}

function say() {
  const said = isQuick() ? { ...state, said_phase: quick.said } : state;
  put(document.querySelector("#notices"), notices(said, refused, conflict, acts));
}

async function drawPlace() {
  const name = place();
  await renderPlace(main, name, {
    state: () => state,
    view: () => view,
    paper: () => paper,
    refused: () => refused,
    left: () => place() !== name,
    move: (day) => {
      view.day = day;
    },
    acts,
  });
  if (place() !== name) return;
  say();
  openAsked();
}

// The fold that the address names is opened and shown, once.
let opened = "";
function openAsked() {
  if (!location.hash || opened === location.href) return;
  opened = location.href;
  const asked = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  asked?.setAttribute("open", "");
  (asked?.closest("article") ?? asked)?.scrollIntoView();
  asked?.querySelector("summary")?.focus({ preventScroll: true });
}

async function freshFarm(wrong) {
  offer ??= await fetched("/api/new");
  like ??= offer.likes[0];
  document.title = "A new farm";
  put(
    main,
    fresh(offer, like, wrong, {
      like: (name) => {
        like = name;
        freshFarm([]);
      },
      make: async (answers) => {
        const made = await sent("/api/new", answers);
        if (!made.fine) return freshFarm(made.faults ?? []);
        view.day = null;
        history.replaceState(null, "", "/");
        state = null;
        return refresh();
      },
    }),
  );
}

// A day that is moved is drawn once a frame.
let frame = 0;

function changeView(change) {
  view = { ...view, ...change };
  cancelAnimationFrame(frame);
  frame = requestAnimationFrame(() => (place() ? render() : renderWinter(true)));
}

function go(address) {
  history.pushState(null, "", address);
  moved();
}

function moved() {
  opened = "";
  forgetPlace();
  main.replaceChildren();
  window.scrollTo(0, 0);
  render();
  if (!location.hash) main.focus({ preventScroll: true });
}

function refuse(answer) {
  refused = answer.faults ?? [];
  if (answer.status === 409 && "disk" in answer) conflict = answer;
  if (state && !state.new) render();
  else put(document.querySelector("#notices"), faultList(refused));
}

async function act(address, content) {
  const answer = await sent(address, content);
  if (!answer.fine) return refuse(answer);
  refused = [];
  conflict = null;
  return refresh();
}

// Moves that come faster than answers: the last of each field counts, one request is under way
// at a time.
let waiting = [];
let sending = false;
let pressed = false;

async function send(edits, trying) {
  const last = waiting.at(-1);
  if (last?.trying === trying) {
    const paths = new Set(edits.map((edit) => edit.path));
    last.edits = [...last.edits.filter((edit) => !paths.has(edit.path)), ...edits];
  } else waiting.push({ edits, trying });
  if (sending) return;
  sending = true;
  while (waiting.length) {
    const next = waiting.shift();
    const had = state;
    const answer = await edited(next.edits, next.trying, marks(had), view.day);
    if (answer) await took(answer, had);
  }
  sending = false;
  await render();
  await catchUp();
}

async function took(answer, had) {
  refused = answer.fine ? [] : (answer.faults ?? []);
  quick = answer.quick ? { ...answer.quick, version: answer.version } : null;
  if (answer.state) await shows(answer.state, had);
  else await refresh();
}

// News of a state: not asked for where the page has it, or where an answer under way brings it.
async function hear(told) {
  heard = told;
  if (!sending) await catchUp();
}

async function catchUp() {
  if (heard && !(heard.said <= state?.said)) await refresh();
}

// Whether the rations of a day are newer than the answer.
function isQuick() {
  return quick?.version === state.version && state.phase === "working";
}

// The groups' new rations of a day at once, until the winter's own answer is there.
function withQuick({ answer }) {
  if (!answer || !isQuick()) return answer;
  const found = new Map(quick.groups.map((group) => [group.id, group]));
  const onDay = (ration) => ration.first <= quick.day && quick.day < ration.last;
  const groups = answer.groups.map((card) => {
    const { cost, feeds } = found.get(card.id) ?? {};
    if (!feeds) return card;
    const rations = card.rations.map((each) => (onDay(each) ? { ...each, cost, feeds } : each));
    return { ...card, rations };
  });
  return { ...answer, groups };
}

const acts = {
  go,
  try: (edits) => send(edits, true),
  edit: (edits) => send(edits, false),
  keep: () => act("/api/keep"),
  forget: () => act("/api/forget"),
  undo: () => act("/api/undo"),
  redo: () => act("/api/redo"),
  save: () => act("/api/save"),
  reload: () => act("/api/reload"),
  offered: (take) => act("/api/offered", { take }),
  closeConflict: () => {
    conflict = null;
    refused = [];
    render();
  },
  name: (name) => act("/api/sets", { name }),
  use: (name) => act("/api/sets", { name, use: true }),
  drop: (name) => act("/api/sets", { name, gone: true }),
  paper: readPaper,
  paperFile: (file) => {
    const reader = new FileReader();
    reader.onload = () =>
      readPaper({ name: file.name, base64: reader.result.split(",")[1] }, false);
    reader.readAsDataURL(file);
  },
  answer: (key, word) =>
    readPaper({ ...paper.sent, answers: { ...paper.sent.answers, [key]: word } }, false),
  takePaper: () => readPaper(paper.sent, true),
};

async function readPaper(content, write) {
  const answer = await sent("/api/papers", { answers: {}, ...content, write });
  paper = { ...answer, sent: content };
  if (answer.fine && write) await refresh();
  else await drawPlace();
}

// On paper nothing is folded that a place tells.
const PRINTED = ["#told", "#in-words", ".warned"]
  .map((place) => `${place} details:not([open]), details${place}:not([open])`)
  .join(", ");
function unfold() {
  for (const fold of document.querySelectorAll(PRINTED)) {
    fold.open = true;
    window.addEventListener(
      "afterprint",
      () => {
        fold.open = false;
      },
      { once: true },
    );
  }
}

async function start() {
  window.addEventListener("beforeprint", unfold);
  const pictures = await (await fetch("/page/fills.svg")).text();
  document.querySelector("#fills").append(drawing(pictures));
  window.addEventListener("popstate", moved);
  window.addEventListener("pointerdown", (event) => {
    pressed = event.target.type === "range";
  });
  window.addEventListener("pointerup", () => {
    pressed = false;
  });
  await refresh();
  listen({
    state: hear,
    file: refresh,
    progress: () => {},
    ping: () => {},
    lost: () =>
      refuse({
        faults: [
          {
            found: "The program has ended or cannot be reached",
            remedy: "start it again with rationlp open",
          },
        ],
      }),
    found: () => {
      refused = [];
      refresh();
    },
  });
}

start();
