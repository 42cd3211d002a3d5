// SPDX-License-Identifier: GPL-3.0-or-later
// Listening. A page opened from a disk may not read the files beside it, but may load a script:
// so the sound of an event's channels comes as one.
const fadeSeconds = 0.03;
const loading = new Map(), sounds = new Map();
let context = null, playing = null;

window.lullSound = (sound) => loading.get(sound.event)?.(sound);

function audio() {
  context ??= new AudioContext();
  context.resume();
  return context;
}

const loadScript = (src, refuse) =>
  document.head.append(make("script", { src, onerror: () => refuse(new Error(words.no_sound)) }));

async function soundOf(number) {
  if (!sounds.has(number)) {
    const sound = await new Promise((resolve, reject) => {
      loading.set(number, resolve);
      loadScript("excerpts/" + data.sounds[number].file, reject);
    });
    for (const track of sound.tracks)
      track.buffer = await audio().decodeAudioData(bytesOf(track.flac).buffer);
    sounds.set(number, sound);
  }
  return sounds.get(number);
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
