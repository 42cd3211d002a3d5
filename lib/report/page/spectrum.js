// SPDX-License-Identifier: GPL-3.0-or-later
// Spectrograms from samples: Hann windows, as lib/report/pictures/spectrogram.cpp makes them.

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

/// A window that suits the stretch: 32 ms of seconds, less of less; a power of two samples.
const windowOf = (seconds, rate) =>
  2 ** Math.round(Math.log2(rate * clamped(seconds / 40, 0.004, 0.032)));

/// Power of each bin of windows whose middles are spread over a stretch of the samples.
/// \param first, count  of the stretch; samples round it are used where they are there
function spectraOf(samples, first, count, columns, size) {
  const bins = size / 2 + 1, power = new Float32Array(columns * bins);
  const real = new Float64Array(size), imaginary = new Float64Array(size);
  const taper = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos(2 * Math.PI * i / size));
  for (let column = 0; column < columns; ++column) {
    const begin = Math.round(first + (column + 0.5) * count / columns - size / 2);
    for (let i = 0; i < size; ++i) real[i] = (samples[begin + i] ?? 0) * taper[i];
    imaginary.fill(0);
    transform(real, imaginary);
    for (let bin = 0; bin < bins; ++bin)
      power[column * bins + bin] = real[bin] ** 2 + imaginary[bin] ** 2;
  }
  return { power, bins, columns };
}

/// Multiples of 1, 2 or 5 times a power of ten.
function ticksOf(low, high, most) {
  let step = 10 ** Math.floor(Math.log10((high - low) / most));
  for (const times of [2, 2.5, 2, 2, 2.5, 2]) if ((high - low) / step > most - 1) step *= times;
  const values = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9; ++n) values.push(n * step);
  return values;
}
