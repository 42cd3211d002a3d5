// SPDX-License-Identifier: GPL-3.0-or-later
// What is seen, drawn: the whole recording above, a stretch of it below as a spectrogram and a
// waveform, and over both cursor, selection, edges and onsets.
const shortest = 0.05, most_computed = 90; // seconds: of a stretch; up to which it is drawn from sound
const view = { from: data.from_s, to: data.to_s };
let cursor = data.from_s, selection = null, current = null, edges = null, drawing = 0;
const look = {}; // settings: channel, low, high, contrast

const wholeCanvas = make("canvas", { role: "img", "aria-label": words.whole_picture });
const lookCanvas = make("canvas", { role: "img", "aria-label": words.look_picture });
const readout = make("output", { id: "readout" });
const marks = { whole: make("canvas", { class: "marks", "aria-hidden": "true" }), look: make("canvas", { class: "marks", "aria-hidden": "true" }) };
const bottom = 18, waveShare = 0.28;

const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const images = data.overview.map(({ png }) => {
  const image = new Image();
  image.onload = () => drawAll();
  image.src = "data:image/png;base64," + png;
  return image;
});

/// The canvas as large as its box, and its brush.
function brushOf(canvas) {
  const scale = window.devicePixelRatio || 1, { clientWidth, clientHeight } = canvas;
  if (canvas.width !== Math.round(clientWidth * scale)) canvas.width = Math.round(clientWidth * scale);
  if (canvas.height !== Math.round(clientHeight * scale)) canvas.height = Math.round(clientHeight * scale);
  const brush = canvas.getContext("2d");
  brush.setTransform(scale, 0, 0, scale, 0, 0);
  brush.clearRect(0, 0, clientWidth, clientHeight);
  brush.font = "12px sans-serif";
  return { brush, width: clientWidth, height: clientHeight };
}

const span = { whole: { from: data.from_s, to: data.to_s }, look: view };
const xIn = (where, width, time) => (time - where.from) / (where.to - where.from) * width;
const timeIn = (where, width, x) => where.from + clamped(x / width, 0, 1) * (where.to - where.from);
const isDark = () => document.documentElement.dataset.look === "dark";

/// The part of the overview that a stretch shows, inverted on a dark page.
function drawOverview(brush, where, width, height, low, high) {
  const about = data.overview[look.channel], image = images[look.channel];
  if (!about || !image.complete || !image.naturalWidth) return false;
  const x = (time) => (time - about.from) / (about.to - about.from) * image.naturalWidth;
  const y = (hertz) => (1 - hertz / about.high) * image.naturalHeight;
  brush.save();
  if (isDark()) brush.filter = "invert(1)";
  brush.drawImage(image, x(where.from), y(high), x(where.to) - x(where.from), y(low) - y(high), 0, 0, width, height);
  brush.restore();
  return true;
}

function drawAxis(brush, where, width, height) {
  brush.fillStyle = colour("--text");
  const ticks = ticksOf(where.from, where.to, Math.max(3, width / 110));
  brush.textAlign = "center";
  for (const time of ticks) {
    const x = xIn(where, width, time);
    brush.fillRect(x, height - bottom, 1, 4);
    if (x > 30 && x < width - 30) brush.fillText(timeText(time, ticks[1] - ticks[0]), x, height - 3);
  }
}

function drawQuiet(brush, where, width, top, height) {
  for (const [from, to] of data.quiet) {
    if (to < where.from || from > where.to) continue;
    const x = xIn(where, width, Math.max(from, where.from)), end = xIn(where, width, Math.min(to, where.to));
    brush.fillStyle = colour("--quiet");
    brush.fillRect(x, top, end - x, height);
  }
}

/// A tick for each event, a line from the first to the last of a find, and its number where there is room.
function drawFinds(brush, width, low) {
  for (const find of [...data.finds].reverse()) {
    const foremost = find.confidence >= 0.5, [x, end] = [find.from, find.to].map((time) => xIn(span.whole, width, time));
    brush.fillStyle = colour(foremost ? "--find" : "--lesser");
    if (foremost) brush.fillRect(x, low - 2, Math.max(2, end - x), 1);
    for (const [onset] of find.events) brush.fillRect(xIn(span.whole, width, onset) - 1, low - (foremost ? 9 : 6), 2, foremost ? 8 : 4);
  }
  const taken = [];
  brush.textAlign = "left";
  brush.fillStyle = colour("--text");
  for (const find of data.finds) {
    const x = xIn(span.whole, width, find.from);
    if (find.confidence < 0.5 || taken.some((other) => Math.abs(other - x) < 18)) continue;
    taken.push(x);
    brush.fillText(find.n, x, low - 11);
  }
}

function drawWhole() {
  const { brush, width, height } = brushOf(wholeCanvas), low = height - bottom;
  drawOverview(brush, span.whole, width, low - 22, 0, data.overview[look.channel]?.high ?? 1);
  drawQuiet(brush, span.whole, width, low - 22, 3);
  for (const [, from, to] of data.hails) {
    brush.fillStyle = colour("--muted");
    brush.fillRect(xIn(span.whole, width, from), low - 15, Math.max(2, xIn(span.whole, width, to) - xIn(span.whole, width, from)), 2);
  }
  drawFinds(brush, width, low);
  drawAxis(brush, span.whole, width, height);
}

/// Grey of a power: dark is loud; against the loudest of the picture, over as many decibels as the
/// contrast says.
function greysOf({ power, bins, columns }, size, rate, height) {
  const image = new ImageData(columns, height), dark = isDark();
  const range = Number(look.contrast.value);
  let loudest = 1e-20;
  const binAt = (row) => clamped(Math.round((look.low + (look.high - look.low) * row / height) / (rate / size)), 0, bins - 1);
  const rows = Array.from({ length: height }, (_, row) => [binAt(row), Math.max(binAt(row) + 1, binAt(row + 1))]);
  for (let column = 0; column < columns; ++column)
    for (let bin = rows[0][0]; bin < rows.at(-1)[1]; ++bin)
      loudest = Math.max(loudest, power[column * bins + bin]);
  rows.forEach(([low, high], row) => {
    for (let column = 0; column < columns; ++column) {
      let most = 0;
      for (let bin = low; bin < high; ++bin) most = Math.max(most, power[column * bins + bin]);
      const below = most > 0 ? Math.min(10 * Math.log10(loudest / most) / range, 1) : 1;
      const grey = Math.round(255 * (dark ? 1 - below : below));
      image.data.set([grey, grey, grey, 255], 4 * ((height - 1 - row) * columns + column));
    }
  });
  return image;
}

function drawWave(brush, samples, skip, count, width, top, height) {
  let largest = 1e-12;
  for (let i = skip; i < skip + count; ++i) largest = Math.max(largest, Math.abs(samples[i] ?? 0));
  const middle = top + height / 2;
  brush.fillStyle = colour("--text");
  for (let x = 0; x < width; ++x) {
    let low = Infinity, high = -Infinity;
    const first = Math.floor(skip + x * count / width), last = Math.max(first + 1, Math.floor(skip + (x + 1) * count / width));
    for (let i = first; i < last; ++i) {
      low = Math.min(low, samples[i] ?? 0);
      high = Math.max(high, samples[i] ?? 0);
    }
    brush.fillRect(x, middle - high / largest * height * 0.46, 1, Math.max(1, (high - low) / largest * height * 0.46));
  }
}

/// Spectrogram and waveform of the stretch, drawn from its sound; until that is there, its part of the overview.
async function drawLook() {
  const own = ++drawing, length = view.to - view.from, where = { ...view };
  const sizes = { width: lookCanvas.clientWidth, height: lookCanvas.clientHeight };
  if (sizes.width < 10) return;
  const top = Math.round((sizes.height - bottom) * (1 - waveShare));
  const begin = () => {
    const { brush, width, height } = brushOf(lookCanvas);
    drawAxis(brush, where, width, height);
    return { brush, width, height };
  };
  const beginCoarse = (low) => {
    const { brush, width } = begin();
    drawOverview(brush, where, width, low, look.low, Math.min(look.high, data.overview[look.channel]?.high ?? look.high));
    return { brush, width };
  };
  if (length > most_computed || !hasSound) {
    beginCoarse(sizes.height - bottom - 2);
    lookCanvas.dataset.drawn = "overview";
    return drawMarks();
  }
  const { brush: waiting, width: middle } = beginCoarse(top);
  waiting.fillText(words.loading, middle / 2, (top + sizes.height - bottom) / 2);
  const room = Math.min(0.5, length); // of windows at the edges
  let sound;
  try {
    sound = await samplesOf(Math.max(data.from_s, where.from - room), Math.min(data.to_s, where.to + room), [look.channel]);
  } catch (error) {
    if (own === drawing) { beginCoarse(sizes.height - bottom - 2); lookCanvas.dataset.drawn = "none"; status.value = error.message; }
    return;
  }
  if (own !== drawing) return;
  const samples = sound.channels.get(look.channel), { rate } = sound;
  const skip = Math.round((where.from - Math.max(data.from_s, where.from - room)) * rate), count = Math.round(length * rate);
  const size = windowOf(length, rate), columns = Math.min(700, Math.floor(sizes.width));
  const spectra = spectraOf(samples, skip, count, columns, size), { brush, width } = begin();
  const small = new OffscreenCanvas(columns, 128);
  small.getContext("2d").putImageData(greysOf(spectra, size, rate, 128), 0, 0);
  brush.drawImage(small, 0, 0, width, top);
  drawWave(brush, samples, skip, count, width, top + 2, sizes.height - bottom - top - 4);
  lookCanvas.dataset.drawn = `${where.from} ${where.to}`;
  drawMarks();
}

/// Cursor, selection, edges and onsets, above the pictures.
function drawMarks() {
  for (const name of ["whole", "look"]) {
    const { brush, width, height } = brushOf(marks[name]), where = span[name];
    const line = (time, style, thick = 1, dash = []) => {
      if (!(time >= where.from && time <= where.to)) return;
      brush.strokeStyle = style;
      brush.lineWidth = thick;
      brush.setLineDash(dash);
      brush.beginPath();
      brush.moveTo(xIn(where, width, time), 0);
      brush.lineTo(xIn(where, width, time), height - bottom);
      brush.stroke();
    };
    if (name === "whole") {
      const x = xIn(where, width, view.from), end = xIn(where, width, view.to);
      brush.strokeStyle = colour("--text");
      brush.strokeRect(x + 0.5, 0.5, Math.max(2, end - x - 1), height - bottom - 23);
    }
    if (selection) {
      brush.fillStyle = colour("--selected");
      const x = xIn(where, width, clamped(selection.from, where.from, where.to));
      brush.fillRect(x, 0, xIn(where, width, clamped(selection.to, where.from, where.to)) - x, height - bottom);
    }
    if (name === "look" && current) {
      for (const [onset, , , ...arrivals] of current.events)
        line(arrivals.find(([channel]) => channel === look.channel)?.[1] ?? onset, colour("--find"), 1, [4, 3]);
      if (edges) for (const edge of [edges.from, edges.to]) line(edge, colour("--cursor"), 3);
    }
    line(cursor, colour("--cursor"), 1.5);
  }
}

