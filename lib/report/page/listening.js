// SPDX-License-Identifier: GPL-3.0-or-later
// Listening. A page opened from a disk may not read the files beside it, but may load a script:
// so the sound of a passage's channels comes as one.
const fadeSeconds = 0.03, peak = 10 ** (-6 / 20), largestGainDb = 40;
const loading = new Map(), sounds = new Map();
let context = null, playing = null;

window.lullSound = (sound) => loading.get(sound.file)?.(sound);

function audio() {
  context ??= new AudioContext();
  context.resume();
  return context;
}

const loadScript = (src, refuse) =>
  document.head.append(make("script", { src, onerror: () => refuse(new Error(words.no_sound)) }));

/// A script's whole sound, which events close together share.
function fileSound(file) {
  if (!sounds.has(file)) {
    const sound = loadSound(file);
    sounds.set(file, sound);
    sound.catch(() => sounds.delete(file));
  }
  return sounds.get(file);
}

async function loadSound(file) {
  const sound = await new Promise((resolve, reject) => {
    loading.set(file, resolve);
    loadScript("excerpts/" + file, reject);
  });
  for (const track of sound.tracks)
    track.buffer = await audio().decodeAudioData(bytesOf(track.flac).buffer);
  return sound;
}

/// The samples of a stretch, faded at both ends, made as loud as an excerpt of it is.
function cut(track, first, count) {
  const samples = track.buffer.getChannelData(0).slice(first, first + count);
  const fade = Math.min(Math.round(fadeSeconds * track.buffer.sampleRate), samples.length / 2);
  for (let n = 0; n < fade; ++n) {
    samples[n] *= n / fade;
    samples[samples.length - 1 - n] *= n / fade;
  }
  let largest = 10 ** ((track.gain_db - largestGainDb) / 20) * peak;
  for (const sample of samples) largest = Math.max(largest, Math.abs(sample));
  const buffer = audio().createBuffer(1, Math.max(samples.length, 1), track.buffer.sampleRate);
  buffer.copyToChannel(samples.map((sample) => sample * peak / largest), 0);
  return { channel: track.channel, gain_db: track.gain_db + 20 * Math.log10(peak / largest), buffer };
}

/// The sound of an event or a slice: {from, tracks}, a track for each channel to choose from.
async function soundOf(number) {
  const { file, from, to, channels } = data.sounds[number], whole = await fileSound(file);
  const tracks = channels.map((channel) => {
    const track = whole.tracks.find((one) => one.channel === channel);
    const first = Math.max(Math.round((from - whole.from) * track.buffer.sampleRate), 0);
    return cut(track, first, Math.round((to - from) * track.buffer.sampleRate));
  });
  return { from, tracks };
}

function stop() {
  playing?.source.stop();
  ended();
}

/// No sound plays, and no line of a figure tells where it is.
function ended() {
  playing?.figure?.mark("heard", NaN);
  playing = null;
}

/// The samples for the left and the right ear: one channel each, or the mean of all on both. Each
/// track was made as loud as it may be; between those that are heard, levels are as recorded.
function ears(sound, left, right) {
  const tracks = left === null ? sound.tracks
    : [left, right].map((channel) => sound.tracks.find((track) => track.channel === channel));
  const least = Math.min(...tracks.map((track) => track.gain_db));
  const frames = tracks[0].buffer.length;
  const stereo = audio().createBuffer(2, frames, tracks[0].buffer.sampleRate);
  tracks.forEach((track, i) => {
    const gain = 10 ** ((least - track.gain_db) / 20), samples = track.buffer.getChannelData(0);
    for (const ear of left === null ? [0, 1] : [i]) {
      const into = stereo.getChannelData(ear), share = left === null ? gain / tracks.length : gain;
      for (let n = 0; n < frames; ++n) into[n] += share * samples[n];
    }
  });
  return stereo;
}

/// Band-passed if asked, then limited and faded in: no sound of the page can hurt.
function play(sound, left, right, banded, speed, figure) {
  stop();
  const now = audio(), source = now.createBufferSource();
  source.buffer = ears(sound, left, right);
  source.playbackRate.value = speed;
  let node = source;
  const through = (next) => { node.connect(next); node = next; };
  if (banded) {
    for (const [type, frequency] of [["highpass", data.band[0]], ["lowpass", data.band[1]]])
      through(new BiquadFilterNode(now, { type, frequency: frequency * speed }));
  }
  through(new DynamicsCompressorNode(now, { threshold: -18, ratio: 20, attack: 0.001 }));
  const volume = Number(document.getElementById("volume").value) / 100;
  const gain = new GainNode(now, { gain: 0 });
  gain.gain.linearRampToValueAtTime(volume, now.currentTime + fadeSeconds);
  through(gain);
  node.connect(now.destination);
  source.start();
  const own = playing = { source, figure }, began = now.currentTime;
  const follow = () => {
    if (playing !== own) return;
    figure?.mark("heard", sound.from + (now.currentTime - began) * speed);
    requestAnimationFrame(follow);
  };
  follow();
  return source;
}

function addListening(article, number, event) {
  const heard = data.sounds[number].channels, first = event?.channel ?? heard[0];
  const choice = (chosen) => {
    const select = make("select", {}, ...heard.map((c) => option(c, nameOf(c))));
    select.value = String(chosen);
    return select;
  };
  const others = heard.filter((c) => c !== first);
  const left = choice(first), right = choice(others[0] ?? first);
  const banded = make("input", { type: "checkbox" });
  const speed = make("select", {}, option(1, words.as_recorded), option(0.5, words.half),
    option(0.25, words.quarter), option(2, words.twice), option(4, words.four_times));
  const status = make("output", { role: "status" });
  const begin = (mix) => soundOf(number).then((sound) => {
    if (!figureOf(article)) {
      article.append(make("div", { class: "wide", tabindex: "0", role: "group",
        "aria-label": words.waveforms }, waveFigure(sound)));
      const field = document.getElementById("added-onset");
      if (field) pointInto(article, field);
    }
    const ear = (select) => (mix ? null : Number(select.value));
    const source = play(sound, ear(left), ear(right), banded.checked, Number(speed.value),
      figureOf(article));
    status.value = words.playing;
    source.onended = () => {
      if (playing?.source === source) ended();
      if (!playing) status.value = "";
    };
  }).catch((error) => { status.value = error.message; });
  article.querySelector("h3").after(make("div", { class: "listen" },
    labelled(words.left, left), labelled(words.right, right), labelled(words.banded, banded),
    labelled(words.speed, speed),
    make("button", { type: "button", "data-key": "l", onclick: () => begin(false) }, words.play_ears),
    make("button", { type: "button", "data-key": "m", onclick: () => begin(true) }, words.play_mix),
    make("button", { type: "button", onclick: () => { stop(); status.value = ""; } }, words.stop),
    status));
}
