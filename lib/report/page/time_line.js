// SPDX-License-Identifier: GPL-3.0-or-later
// The time line, from all of it to a second.
const wide = 1000, margin = 110, lane = 54;
const courses = data.courses.map((course) => ({ ...course,
  level: bytesOf(course.db) }));
let from = data.from_s, to = data.to_s;

const xOf = (time) => margin + (time - from) / (to - from) * (wide - margin);

/// Clock time (hh:mm:ss) where the start is known, else minutes and seconds (m:ss, h:mm:ss), each as
/// the tools' options read it; as fine as the step needs.
function timeText(time, step) {
  const second = data.clock_s === null ? time : (data.clock_s + time) % 86400;
  const decimals = step < 1 ? Math.min(3, Math.ceil(-Math.log10(step))) : 0;
  const whole = Math.floor(second / 60), rest = (second - 60 * whole).toFixed(decimals);
  const seconds = rest.padStart(decimals ? decimals + 3 : 2, "0");
  const hours = Math.floor(whole / 60), minutes = String(whole % 60).padStart(2, "0");
  if (data.clock_s !== null) return `${String(hours).padStart(2, "0")}:${minutes}:${seconds}`;
  if (whole < 60) return `${whole}:${seconds}`;
  return `${hours < 10 ? "" : "+"}${hours}:${minutes}:${seconds}`;
}

function addAxis(svg, height) {
  const steps = [0.1, 0.2, 0.5, 1, 2, 5, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 14400];
  const step = steps.find((s) => (to - from) / s <= 9) ?? 28800;
  for (let time = Math.ceil(from / step) * step; time <= to; time += step) {
    svg.append(drawn("line", { x1: xOf(time), x2: xOf(time), y1: 0, y2: height, stroke: "#bbb" }),
      drawn("text", { x: xOf(time), y: height + 14, "text-anchor": "middle" }, timeText(time, step)));
  }
}

/// The loudest of each column's steps, from 0 to 40 dB over the floor.
function levelPath(course, base) {
  const columnCount = Math.min(wide - margin, Math.ceil((to - from) / course.step) * 4);
  let path = "", pen = "M";
  for (let column = 0; column < columnCount; ++column) {
    const begin = from + (to - from) * column / columnCount, width = (to - from) / columnCount;
    const first = Math.max(0, Math.floor((begin - course.first) / course.step));
    const last = Math.floor((begin + width - course.first) / course.step);
    let highest = 0;
    for (let i = first; i <= Math.max(first, last) && i < course.level.length; ++i)
      highest = Math.max(highest, course.level[i]);
    if (highest === 0) { pen = "M"; continue; }
    const db = Math.min(40, Math.max(0, highest / 4 - 20.25));
    path += `${pen}${xOf(begin).toFixed(1)} ${(base - db / 40 * (lane - 8)).toFixed(1)}`;
    pen = "L";
  }
  return path;
}

function signOf(kind, x, y) {
  const line = { fill: "none", stroke: "#000", "stroke-width": 1.5 };
  if (kind === "tapping") return drawn("rect", { x: x - 4, y: y - 4, width: 8, height: 8 });
  if (kind === "voice-like") return drawn("circle", { cx: x, cy: y, r: 4.5, ...line });
  if (kind === "horn") return drawn("path", { d: `M${x} ${y + 6}V${y - 6}h8l-3 3 3 3h-8`, ...line });
  return drawn("path", { d: `M${x - 4} ${y - 4}l8 8m0-8l-8 8`, ...line });
}

/// Where signs would cover each other the most deserving is drawn: it comes first.
function addEvents(svg) {
  const taken = new Set();
  for (const event of data.events) {
    if (event.onset < from || event.onset > to) continue;
    const place = Math.round(xOf(event.onset) / 9) * 1000 + event.channel;
    if (taken.has(place)) continue;
    taken.add(place);
    const named = document.getElementById("event-" + event.n) || partsLoaded < data.parts;
    const link = drawn(named ? "a" : "g", named ? { href: "#event-" + event.n, tabindex: "-1" } : {});
    link.append(drawn("title", {}, `${words.event} ${event.n}: ${said(event.kind)}, ${event.onset.toFixed(2)} s`),
      signOf(event.kind, xOf(event.onset), event.channel * lane + 12));
    svg.append(link);
    if (to - from > 40) continue;
    for (const [channel, onset] of event.arrivals) {
      const x = xOf(onset), y = channel * lane;
      svg.append(drawn("line", { x1: x, x2: x, y1: y + 20, y2: y + lane - 4, stroke: "#000",
        "stroke-dasharray": "3 2" }));
    }
  }
}

function drawTimeLine() {
  const height = lane * data.channels.length;
  const svg = drawn("svg", { viewBox: `0 0 ${wide + 40} ${height + 20}`, role: "group",
    "font-size": 12, "aria-label": words.time_line });
  addAxis(svg, height);
  for (const [begin, end] of data.quiet) {
    const left = xOf(Math.max(begin, from)), right = xOf(Math.min(end, to));
    if (right > left) svg.append(drawn("rect", { x: left, y: 0, width: right - left, height,
      fill: "#ddd", ...(right - left > 4 ? { stroke: "#888", "stroke-dasharray": "2 2" } : {}) }));
  }
  courses.forEach((course, channel) => {
    const base = (channel + 1) * lane - 4;
    svg.append(drawn("text", { x: 0, y: base - 16 }, nameOf(channel)),
      drawn("line", { x1: margin, x2: wide, y1: base, y2: base, stroke: "#888" }),
      drawn("path", { d: levelPath(course, base), fill: "none", stroke: "#333" }));
  });
  addEvents(svg);
  document.getElementById("time-line-view").replaceChildren(svg);
  document.getElementById("time-line-range").value =
    `${timeText(from, 0.01)} - ${timeText(to, 0.01)}`;
}

function show(begin, end) {
  const length = Math.min(Math.max(end - begin, 1), data.to_s - data.from_s);
  from = Math.min(Math.max(begin, data.from_s), data.to_s - length);
  to = from + length;
  drawTimeLine();
}
const zoom = (times, middle = (from + to) / 2) =>
  show(middle - (middle - from) * times, middle + (to - middle) * times);
const move = (share) => show(from + share * (to - from), to + share * (to - from));
const showAll = () => show(data.from_s, data.to_s);

function addTimeLine() {
  const button = (text, key, act) =>
    make("button", { type: "button", "data-key": key, onclick: act }, text);
  const view = make("div", { id: "time-line-view", class: "wide", tabindex: "0", role: "group",
    "aria-label": words.time_line });
  view.addEventListener("wheel", (turn) => {
    if (!turn.ctrlKey) return; // the page itself scrolls
    turn.preventDefault();
    const box = view.getBoundingClientRect();
    const part = ((turn.clientX - box.left) / box.width * (wide + 40) - margin) / (wide - margin);
    zoom(turn.deltaY > 0 ? 1.5 : 1 / 1.5, from + Math.min(Math.max(part, 0), 1) * (to - from));
  }, { passive: false });
  const section = document.getElementById("time-line");
  section.append(make("div", { class: "controls" },
    button(words.closer, "+", () => zoom(0.5)), button(words.wider, "-", () => zoom(2)),
    button(words.earlier, "[", () => move(-0.5)), button(words.later, "]", () => move(0.5)),
    button(words.whole, "0", showAll), make("output", { id: "time-line-range" })), view);
}
