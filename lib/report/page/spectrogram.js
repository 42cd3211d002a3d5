// SPDX-License-Identifier: GPL-3.0-or-later
// Spectrograms of channels that the page has no picture of, from the sound beside it; computed and
// drawn as lib/picture/spectrogram.cpp does, in sixteen greys. Sound is decoded at a rate at which a
// window of 32 ms is a power of two.
const spectrum = { ...data.picture, rate: data.rate_hz === 8000 ? 8000 : 16000 };
spectrum.size = spectrum.window_s * spectrum.rate;

/// In place, radix 2.
function transform(real, imaginary) {
  const size = real.length;
  for (let i = 1, j = 0; i < size; ++i) {
    let bit = size >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) [real[i], real[j]] = [real[j], real[i]];
  }
  for (let half = 1; half < size; half *= 2)
    for (let k = 0; k < half; ++k) {
      const c = Math.cos(Math.PI * k / half), s = -Math.sin(Math.PI * k / half);
      for (let a = k; a < size; a += 2 * half) {
        const b = a + half, re = real[b] * c - imaginary[b] * s, im = real[b] * s + imaginary[b] * c;
        real[b] = real[a] - re;
        imaginary[b] = imaginary[a] - im;
        real[a] += re;
        imaginary[a] += im;
      }
    }
}

/// Power of each bin of windows spread over the samples; none for less than a window.
function spectraOf(samples) {
  const { size, columns } = spectrum, room = samples.length - size, bins = size / 2 + 1;
  if (room < 0) return null;
  const step = Math.max(1, Math.floor(room / (columns - 1)));
  const count = Math.min(columns, Math.floor(room / step) + 1), power = new Float32Array(count * bins);
  const real = new Float64Array(size), imaginary = new Float64Array(size);
  for (let column = 0; column < count; ++column) {
    for (let i = 0; i < size; ++i)
      real[i] = samples[column * step + i] * (0.5 - 0.5 * Math.cos(2 * Math.PI * i / size));
    imaginary.fill(0);
    transform(real, imaginary);
    for (let bin = 0; bin < bins; ++bin)
      power[column * bins + bin] = real[bin] ** 2 + imaginary[bin] ** 2;
  }
  return { power, bins, count, step_s: step / spectrum.rate, first_s: size / 2 / spectrum.rate };
}

/// Dark is loud; what shares a pixel shows the loudest of it. \return the address of an image
function greyPicture({ power, bins, count }) {
  const { rows, range_db, high_hz, rate, size } = spectrum;
  const canvas = make("canvas", { width: count, height: rows }), brush = canvas.getContext("2d");
  const image = brush.createImageData(count, rows);
  const loudest = power.reduce((a, b) => Math.max(a, b), 0);
  const binAt = (row) => Math.min(Math.round(high_hz * row / rows / (rate / size)), bins - 1);
  for (let row = 0; row < rows; ++row) {
    const low = binAt(row), high = Math.min(Math.max(low + 1, binAt(row + 1)), bins);
    for (let column = 0; column < count; ++column) {
      let most = 0;
      for (let bin = low; bin < high; ++bin) most = Math.max(most, power[column * bins + bin]);
      const below = most > 0 ? 10 * Math.log10(loudest / most) : range_db;
      const grey = Math.floor(Math.round(255 * Math.min(below / range_db, 1)) / 17) * 17;
      image.data.set([grey, grey, grey, 255], 4 * ((rows - 1 - row) * count + column));
    }
  }
  brush.putImageData(image, 0, 0);
  return canvas.toDataURL("image/png");
}

/// Multiples of 1, 2 or 5 times a power of ten, and their decimals.
function ticksOf(low, high, most) {
  let step = 10 ** Math.floor(Math.log10((high - low) / most));
  for (const times of [2, 2.5, 2, 2, 2.5, 2]) if ((high - low) / step > most - 1) step *= times;
  const values = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9; ++n) values.push(n * step);
  return values.map((value) => [value, value.toFixed(Math.max(0, -Math.floor(Math.log10(step) + 1e-9)))]);
}

/// One channel's row of the figure.
function spectrogramRow(svg, name, samples, onset, [begin, end], top) {
  const left = 130, right = 690, height = 100;
  const xOf = (time) => left + (time - begin) / (end - begin) * (right - left);
  const spectra = spectraOf(samples);
  svg.append(drawn("text", { x: left - 44, y: top + height / 2 + 4, "text-anchor": "end" }, name));
  for (const [hertz, label] of ticksOf(0, spectrum.high_hz, 5)) {
    const y = top + height - hertz / spectrum.high_hz * height;
    svg.append(drawn("line", { x1: left - 4, x2: left, y1: y, y2: y, stroke: "#111" }),
      drawn("text", { x: left - 6, y: y + (hertz > 0 ? 4 : 0), "text-anchor": "end", "font-size": 9 },
        label));
  }
  svg.append(drawn("text", { x: right + 3, y: top + 9, "font-size": 9 }, words.frequency_axis));
  if (!spectra) return;
  const first = begin + spectra.first_s - spectra.step_s / 2;
  svg.append(drawn("image", { x: xOf(first), y: top, height, preserveAspectRatio: "none",
    width: xOf(first + spectra.count * spectra.step_s) - xOf(first),
    href: greyPicture(spectra) }));
  if (onset >= begin && onset <= end)
    svg.append(drawn("line", { x1: xOf(onset), x2: xOf(onset), y1: top, y2: top + height,
      stroke: "#111", "stroke-width": 1.2, "stroke-dasharray": "5 3" }));
}

/// The figure: a row for each of the channels, one axis of time below.
async function spectrogramFigure(sound, channels, [begin, end], onsetOf) {
  const base = 106 * channels.length, left = 130, right = 690;
  const svg = drawn("svg", { viewBox: `0 0 720 ${base + 38}`, width: 720, height: base + 38,
    role: "img", "font-size": 11,
    "font-family": "sans-serif", fill: "#111", "data-from": begin, "data-to": end, "data-left": left,
    "data-right": right, "aria-label": `${words.spectrograms}: ${channels.map(nameOf).join(", ")}` });
  for (const [row, channel] of channels.entries()) {
    const track = sound.tracks.find((one) => one.channel === channel);
    const own = new OfflineAudioContext(1, 1, spectrum.rate); // decodes to its own rate
    const samples = (await own.decodeAudioData(bytesOf(track.flac).buffer)).getChannelData(0);
    const [first, last] = [begin, end].map((t) => Math.round((t - sound.from) * spectrum.rate));
    spectrogramRow(svg, nameOf(channel), samples.subarray(Math.max(first, 0), last), onsetOf(channel),
      [begin, end], 106 * row + 6);
  }
  svg.append(drawn("line", { x1: left, x2: right, y1: base + 6, y2: base + 6, stroke: "#111" }));
  for (const [time, label] of ticksOf(begin, end, 9)) {
    const x = left + (time - begin) / (end - begin) * (right - left);
    svg.append(drawn("line", { x1: x, x2: x, y1: base + 6, y2: base + 10, stroke: "#111" }),
      drawn("text", { x, y: base + 22, "text-anchor": "middle" }, label));
  }
  svg.append(drawn("text", { x: right, y: base + 36, "text-anchor": "end" }, words.seconds_axis));
  return svg;
}
