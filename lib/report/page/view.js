// SPDX-License-Identifier: GPL-3.0-or-later
// Looking: from all of the recording to 50 ms. A click puts the cursor, a drag selects, the wheel zooms.
let awaited = false;
function drawAll() {
  if (awaited) return;
  awaited = true;
  requestAnimationFrame(() => {
    awaited = false;
    drawWhole();
    drawMarks();
    drawLook();
    tellRange();
  });
}

function tellRange() {
  const fine = (view.to - view.from) / 500;
  readout.value = `${timeText(view.from, fine)} - ${timeText(view.to, fine)}` + (selection
    ? `; ${words.selected}: ${(selection.to - selection.from).toFixed(3)} s, ${Math.round(selection.low)}-${Math.round(selection.high)} Hz` : "");
}

function show(from, to) {
  const length = clamped(to - from, shortest, data.to_s - data.from_s);
  view.from = clamped(from, data.from_s, data.to_s - length);
  view.to = view.from + length;
  drawAll();
}
const zoom = (times, middle = (view.from + view.to) / 2) =>
  show(middle - (middle - view.from) * times, middle + (view.to - middle) * times);
const move = (share) => show(view.from + share * (view.to - view.from), view.to + share * (view.to - view.from));

/// \param heard  the sound moves it: the view goes along
function setCursor(time, heard = false) {
  cursor = clamped(time, data.from_s, data.to_s);
  lookCanvas.dataset.cursor = cursor.toFixed(3);
  if (heard && (cursor > view.to || cursor < view.from)) show(cursor, cursor + view.to - view.from);
  drawMarks();
}

function select(range) {
  selection = range;
  document.getElementById("add")?.toggleAttribute("hidden", !range);
  tellRange();
  drawMarks();
}

const hertzAt = (y, height) => look.low + (look.high - look.low) * clamped(1 - y / ((height - bottom) * (1 - waveShare)), 0, 1);

/// A click puts the cursor, or the nearest edge while edges are moved; a drag selects.
function pointing(canvas, where) {
  let began = null;
  canvas.addEventListener("pointerdown", (at) => {
    if (at.button !== 0) return;
    canvas.setPointerCapture(at.pointerId);
    began = at;
  });
  canvas.addEventListener("pointermove", (at) => {
    if (!began || Math.abs(at.offsetX - began.offsetX) < 4 || edges) return;
    const [from, to] = [began.offsetX, at.offsetX].sort((a, b) => a - b).map((x) => timeIn(where, canvas.clientWidth, x));
    const [low, high] = [began.offsetY, at.offsetY].map((y) => hertzAt(y, canvas.clientHeight)).sort((a, b) => a - b);
    select({ from, to, low, high });
  });
  canvas.addEventListener("pointerup", (at) => {
    const dragged = began && Math.abs(at.offsetX - began.offsetX) >= 4;
    began = null;
    const time = timeIn(where, canvas.clientWidth, at.offsetX);
    if (edges) return moveEdge(time);
    if (dragged) return;
    select(null);
    const was = playing;
    stop();
    setCursor(time);
    if (canvas === wholeCanvas && (time < view.from || time > view.to))
      show(time - (view.to - view.from) / 2, time + (view.to - view.from) / 2);
    if (was) play(cursor, data.to_s);
  });
  canvas.addEventListener("wheel", (turn) => {
    turn.preventDefault();
    if (turn.shiftKey) return move(Math.sign(turn.deltaY || turn.deltaX) / 8);
    zoom(turn.deltaY > 0 ? 1.4 : 1 / 1.4, timeIn(where, canvas.clientWidth, turn.offsetX));
  }, { passive: false });
}

function viewControls() {
  const act = () => {
    look.channel = Number(look.chosen.value);
    [look.low, look.high] = look.range.value.split(" ").map(Number);
    drawAll();
  };
  let label, rangeLabel;
  [look.chosen, label] = choice(words.channel, data.channels.map((name, c) => [c, name]), act);
  const most = Math.min(4000, data.rate_hz / 2), ranges = [[0, most], [0, 500], [0, 1000], [0, 2000], [300, 3400]].filter(([, high]) => high <= most);
  [look.range, rangeLabel] = choice(words.frequencies, ranges.map(([low, high]) => [`${low} ${high}`, `${low}-${high} Hz`]), act);
  look.contrast = make("input", { type: "range", min: "20", max: "90", value: "55", oninput: drawAll });
  look.chosen.value = String(data.channel);
  act();
  return make("div", { class: "controls" }, label, rangeLabel, labelled(words.contrast, look.contrast),
    button(words.closer, "+", () => zoom(0.5)), button(words.wider, "-", () => zoom(2)),
    button(words.earlier, "[", () => move(-0.5)), button(words.later, "]", () => move(0.5)),
    button(words.all, "0", () => show(data.from_s, data.to_s)), readout);
}

function addView() {
  const box = document.getElementById("whole");
  box.append(make("div", { class: "stage" }, wholeCanvas, marks.whole));
  const stage = make("section", { id: "look" }, make("h2", { class: "unseen" }, words.look_picture),
    viewControls(), make("div", { class: "stage" }, lookCanvas, marks.look), playerControls());
  box.after(stage);
  pointing(wholeCanvas, span.whole);
  pointing(lookCanvas, view);
  new ResizeObserver(drawAll).observe(lookCanvas);
  controls.left.value = controls.right.value = String(look.channel);
}
