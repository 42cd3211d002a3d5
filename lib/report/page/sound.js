// SPDX-License-Identifier: GPL-3.0-or-later
// The sound beside the page. A page opened from a disk may not read the files beside it, but may
// load a script: so the sound of a stretch's channels comes as one. Stretches round finds are as
// recorded; those of the whole recording are resampled and packed.
const runIn = 0.1, most_kept = 24; // seconds before a packed stretch; stretches kept decoded
const loading = new Map(), decoded = new Map();
const whole = data.sounds.filter((sound) => sound.whole);
const packed = data.sounds.filter((sound) => !sound.whole);

window.lullSound = (sound) => loading.get(document.currentScript.src)?.(sound);

function loaded(file) {
  return new Promise((resolve, reject) => {
    const script = loadScript(file, () => reject(new Error(words.no_sound)));
    loading.set(script.src, (sound) => {
      loading.delete(script.src);
      script.remove();
      resolve(sound);
    });
  });
}

const rateOf = (sound) => sound.whole ? clamped(data.rate_hz, 8000, 48000) : data.packed_rate_hz;

/// Samples of each channel at the recording's own level: {from, rate, channels}.
async function decode(sound) {
  const { from, tracks } = await loaded(sound.file), channels = new Map();
  const rate = rateOf(sound);
  await Promise.all(tracks.map(async (track) => {
    const own = new OfflineAudioContext(1, 1, rate); // decodes to its own rate
    const buffer = await own.decodeAudioData(bytesOf(track.sound).buffer);
    const gain = 10 ** (-track.gain_db / 20);
    channels.set(track.channel, buffer.getChannelData(0).map((sample) => sample * gain));
  }));
  return { from, rate, channels };
}

/// Decoded once; the ones not used for longest are let go.
function soundOf(sound) {
  const known = decoded.get(sound.file) ?? decode(sound);
  decoded.delete(sound.file);
  decoded.set(sound.file, known);
  known.catch(() => decoded.delete(sound.file));
  if (decoded.size > most_kept) decoded.delete(decoded.keys().next().value);
  return known;
}

/// What holds a stretch: one as recorded where there is one, else packed ones in order.
function sourcesOf(from, to, channels) {
  const one = whole.find((sound) => sound.from <= from + 1e-3 && sound.to >= to - 1e-3 &&
    channels.every((channel) => sound.channels.includes(channel)));
  if (one) return [one];
  return packed.filter((sound) => sound.from < to && sound.to > from);
}
const hasSound = data.sounds.length > 0;

/// The samples of a stretch: {rate, channels}; silent where the folder has no sound.
async function samplesOf(from, to, channels) {
  const sources = sourcesOf(from, to, channels);
  if (sources.length === 0) throw new Error(words.no_sound);
  const rate = rateOf(sources[0]), frames = Math.max(1, Math.round((to - from) * rate));
  const all = new Map(channels.map((channel) => [channel, new Float32Array(frames)]));
  for (const source of sources) {
    const sound = await soundOf(source);
    const begin = source.whole ? from : Math.max(from, source.from), end = Math.min(to, source.to);
    const [first, last] = [begin, end].map((time) => Math.round((time - sound.from) * rate));
    for (const channel of channels) {
      const part = sound.channels.get(channel)?.subarray(Math.max(first, 0), last);
      const at = Math.max(0, Math.round((begin - from) * rate));
      if (part) all.get(channel).set(part.subarray(0, frames - at), at);
    }
  }
  return { rate, channels: all };
}
