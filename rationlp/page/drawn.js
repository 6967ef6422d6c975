// Stores to scale: a clamp and a bag in long section, with the face on the day shown and a line a
// week; a clamp from the front too; bales as a stack by count. Sizes are those of the fields.

import { dayWords, el, figure } from "./dom.js";
import { dayAt } from "./ruler.js";
import { fedBy } from "./strip.js";

const STEPS = 240;
const WEEK = 7;
const MOST_BALES = 240;
const MAN = "M-.1-1.36H.3V-.72H.25V0H.13V-.68H.07V0H-.05V-.72H-.1z";

// thing: the store with its fields; bar: its bar on the winter's place; null for a heap of tonnes.
export function storeDrawing(thing, bar, view) {
  const sizes = Object.fromEntries(thing.fields.map((field) => [field.key, field.value]));
  if (thing.kind === "bales") return bales(thing, sizes, bar, view);
  const outline = outlineOf(thing.kind, sizes);
  return outline ? sections(thing, outline, sizes, bar, view) : null;
}

// Length, height, height along the length, and where the face was at first [m].
function outlineOf(kind, sizes) {
  const long = sizes.length_m;
  const high = kind === "bag" ? sizes.diameter_m : sizes.height_m;
  if (!(long > 0 && high > 0)) return null;
  const slope = (degrees) => (degrees ? Math.tan((degrees * Math.PI) / 180) : Infinity);
  const heap = sizes.shape === "heap";
  const front = kind === "clamp" ? slope(sizes.ramp_angle_degrees ?? (heap ? 45 : null)) : Infinity;
  const back =
    kind === "clamp" ? slope(sizes.back_ramp_angle_degrees ?? (heap ? 45 : null)) : Infinity;
  const rise = (metres, steep) => (steep === Infinity ? high : metres * steep);
  const at = (x) => {
    if (sizes.shape === "wedge") return (high * x) / long;
    return Math.max(0, Math.min(high, rise(x, front), rise(long - x, back)));
  };
  return { long, high, at, from: Math.min(sizes.fed_length_m ?? 0, long) };
}

// Where the face stands when a share of what was there is fed.
function faceAt(outline, share) {
  const step = (outline.long - outline.from) / STEPS;
  const areas = Array.from({ length: STEPS }, (_, number) =>
    outline.at(outline.from + (number + 0.5) * step),
  );
  let wanted = share * areas.reduce((sum, area) => sum + area, 0);
  for (let number = 0; number < STEPS; number += 1) {
    if (wanted <= areas[number])
      return outline.from + (number + (areas[number] ? wanted / areas[number] : 0)) * step;
    wanted -= areas[number];
  }
  return outline.long;
}

function shareFed(bar, day) {
  return bar?.run.length ? Math.min(fedBy(bar, day) / bar.run[0][1], 1) : 0;
}

// Long section and front view stand in one drawing, so that both have one scale.
function sections(thing, outline, sizes, bar, view) {
  const face = faceAt(outline, shareFed(bar, view.day));
  const wide = sizes.width_m ?? sizes.diameter_m;
  const clamp = thing.kind === "clamp";
  const high = Math.max(outline.high, sizes.wall_height_m ?? 0, 2) + 0.9;
  const full = outline.long + 1.2 + (clamp ? wide + 4 : 0);
  const words = faceWords(outline, face, view.day);
  const [long, broad, tall] = [outline.long, wide, outline.high].map((each) => figure(each, 1));
  const size = `${long} m long, ${broad} m wide, ${tall} m high`;
  const fronts = clamp ? ", and from the front" : "";
  return el(
    "div",
    { class: "views" },
    el(
      "svg",
      {
        viewBox: `-.6 ${-high} ${full} ${high + 0.3}`,
        role: "img",
        "aria-label": `${thing.name} in long section${fronts}, ${size}. ${words}.`,
      },
      longSection(outline, face, bar, view),
      clamp
        ? el(
            "g",
            { transform: `translate(${outline.long + 2.4} 0)` },
            frontView(outline, sizes, wide),
          )
        : null,
    ),
    el("p", { class: "small soft" }, `To scale: ${size}. ${words}. A line a week.`),
  );
}

function faceWords(outline, face, day) {
  if (face >= outline.long - 0.05) return `Empty by ${dayWords(day)}`;
  if (face <= outline.from + 0.05) return `Not begun on ${dayWords(day)}`;
  const left = figure(outline.long - face, 1);
  return `Face on ${dayWords(day)}: ${figure(face, 1)} m in, ${left} m to go`;
}

function longSection(outline, face, bar, view) {
  const shape = (from, to) => {
    const points = [];
    for (let number = 0; number <= STEPS; number += 1) {
      const x = from + ((to - from) * number) / STEPS;
      points.push(`${x} ${-outline.at(x)}`);
    }
    return `M${from} 0L${points.join("L")}L${to} 0z`;
  };
  const weeks = [];
  for (let number = WEEK; bar?.run.length && number < view.winter; number += WEEK) {
    const x = faceAt(outline, shareFed(bar, dayAt(view.first, number)));
    if (x <= outline.from || x >= outline.long) continue;
    weeks.push(
      el("line", {
        class: x > face ? "week ahead" : "week",
        x1: x,
        x2: x,
        y1: 0,
        y2: -outline.at(x),
      }),
    );
  }
  return [
    face > 0 ? el("path", { class: "eaten thin", d: shape(0, face) }) : null,
    face < outline.long ? el("path", { class: "solid", d: shape(face, outline.long) }) : null,
    weeks,
    el("line", { class: "ground", x1: -0.6, x2: outline.long + 0.6, y1: 0, y2: 0 }),
    face > outline.from && face < outline.long
      ? el("line", { class: "faceline", x1: face, x2: face, y1: 0, y2: -outline.high - 0.5 })
      : null,
  ];
}

function frontView(outline, sizes, wide) {
  const top = Math.min(sizes.top_width_m ?? wide, 3 * wide);
  const inset = (wide - top) / 2;
  const walls = sizes.wall_height_m
    ? [-0.35, wide].map((x) =>
        el("rect", {
          class: "wall",
          x,
          y: -sizes.wall_height_m,
          width: 0.35,
          height: sizes.wall_height_m,
        }),
      )
    : null;
  return [
    el("path", { class: "solid", d: `M0 0L${inset} ${-outline.high}H${wide - inset}L${wide} 0z` }),
    walls,
    el("line", { class: "ground", x1: -0.6, x2: wide + 1.8, y1: 0, y2: 0 }),
    el(
      "g",
      { class: "man", transform: `translate(${wide + 0.9} 0)` },
      el("circle", { cx: 0.1, cy: -1.6, r: 0.16 }),
      el("path", { d: MAN }),
    ),
  ];
}

// Each mark stands for so many bales: filled is there, hollow is fed.
function bales(thing, sizes, bar, view) {
  if (!(sizes.count > 0)) return null;
  const each = Math.ceil(sizes.count / MOST_BALES);
  const marks = Math.ceil(sizes.count / each);
  const fed = Math.round(shareFed(bar, view.day) * marks);
  const rows = Math.min(Math.max(3, Math.ceil(Math.sqrt(marks / 8))), marks);
  const columns = Math.ceil(marks / rows);
  const square = sizes.shape && sizes.shape !== "round";
  const drawn = Array.from({ length: marks }, (_, number) => {
    // The stack is taken from the top down, end by end.
    const [column, row] = [Math.floor(number / rows), rows - 1 - (number % rows)];
    const looks = number < fed ? "eaten thin" : "solid";
    return square
      ? el("rect", { class: looks, x: column * 1.1, y: -row - 0.9, width: 1, height: 0.85 })
      : el("circle", { class: looks, cx: column + 0.5, cy: -row - 0.5, r: 0.44 });
  });
  const left = sizes.count - Math.round(shareFed(bar, view.day) * sizes.count);
  const all = figure(sizes.count, 0);
  const says = `${figure(left, 0)} of ${all} bales left on ${dayWords(view.day)}`;
  const long = columns * (square ? 1.1 : 1);
  return el(
    "div",
    { class: "views" },
    el(
      "svg",
      {
        viewBox: `-.2 ${-rows - 0.2} ${long + 0.4} ${rows + 0.5}`,
        role: "img",
        "aria-label": `${thing.name}: ${says}`,
        class: "stack",
      },
      drawn,
      el("line", { class: "ground", x1: -0.2, x2: long + 0.2, y1: 0, y2: 0 }),
    ),
    el("p", { class: "small soft" }, `${says}.${each > 1 ? ` Each mark is ${each} bales.` : ""}`),
  );
}
