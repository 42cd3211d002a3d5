// SPDX-License-Identifier: GPL-3.0-or-later
// Listening. A page opened from a disk may not read the files beside it, but may load a script:
// so the sound of a passage's channels comes as one.
const fadeSeconds = 0.03, peak = 10 ** (data.excerpt.peak_db / 20);
const loading = new Map(), sounds = new Map();
let context = null, playing = null;

window.lullSound = (sound) => loading.get(document.currentScript.src)?.(sound);

function audio() {
  context ??= new AudioContext();
  context.resume();
  return context;
}

/// The tracks as they lie in their file, loaded once: events close together share them.
function soundOf(number) {
  const { file } = data.sounds[number];
  if (!sounds.has(file)) {
    sounds.set(file, new Promise((resolve, reject) => {
      const script = loadScript("excerpts/" + file, () => {
        sounds.delete(file);
        reject(new Error(words.no_sound));
      });
      loading.set(script.src, resolve);
    }));
  }
  return sounds.get(file);
}

/// The samples of a stretch, faded at both ends, made as loud as an excerpt of it is.
function cut(track, first, end) {
  const samples = track.buffer.getChannelData(0).slice(Math.max(first, 0), end);
  const fade = Math.min(Math.round(fadeSeconds * track.buffer.sampleRate), samples.length / 2);
  for (let n = 0; n < fade; ++n) {
    samples[n] *= n / fade;
    samples[samples.length - 1 - n] *= n / fade;
  }
  let largest = 10 ** ((track.gain_db - data.excerpt.largest_gain_db) / 20) * peak;
  for (const sample of samples) largest = Math.max(largest, Math.abs(sample));
  const buffer = audio().createBuffer(1, Math.max(samples.length, 1), track.buffer.sampleRate);
  buffer.copyToChannel(samples.map((sample) => sample * peak / largest), 0);
  return { channel: track.channel, gain_db: track.gain_db + 20 * Math.log10(peak / largest), buffer };
}

/// An event's own part of them, ready to be played: {from, tracks}, a track for each of its channels.
async function decodedSoundOf(number) {
  const { channels, part: [begin, end] } = data.sounds[number], whole = await soundOf(number);
  const tracks = [];
  for (const channel of channels) {
    const track = whole.tracks.find((one) => one.channel === channel);
    track.buffer ??= await audio().decodeAudioData(bytesOf(track.flac).buffer);
    tracks.push(cut(track, ...[begin, end].map((t) => Math.round((t - whole.from) * track.buffer.sampleRate))));
  }
  return { from: Math.max(begin, whole.from), tracks };
}

function stop() {
  playing?.source.stop();
  ended();
}

/// No sound plays, and no line of a figure tells where it is.
function ended() {
  if (playing) markAll(playing.article, "heard", NaN);
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
function play(sound, left, right, banded, speed, article) {
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
  const own = playing = { source, article }, began = now.currentTime;
  const follow = () => {
    if (playing !== own) return;
    markAll(article, "heard", sound.from + (now.currentTime - began) * speed);
    requestAnimationFrame(follow);
  };
  follow();
  return source;
}

function addListening(article, number, event) {
  const { channels: heard } = data.sounds[number], first = event?.channel ?? heard[0];
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
  const begin = (mix) => decodedSoundOf(number).then((sound) => {
    if (!article.querySelector("svg[data-from]"))
      article.append(wideBox(waveFigure(sound), words.waveforms));
    const ear = (select) => (mix ? null : Number(select.value));
    const source = play(sound, ear(left), ear(right), banded.checked, Number(speed.value), article);
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
  addSpectrograms(article, number, event);
}

/// A button that draws the spectrograms of the channels that have none yet.
function addSpectrograms(article, number, event) {
  const { channels, part } = data.sounds[number], picture = article.querySelector("svg image");
  const without = channels.filter((channel) => !(picture && channel === event?.channel));
  if (without.length === 0) return;
  const status = make("output", { role: "status" });
  const onsetOf = (channel) => event?.arrivals.find(([at]) => at === channel)?.[1];
  const draw = async () => {
    if (button.disabled) return;
    button.disabled = true;
    const [shown] = figuresOf(article);
    const span = shown ? [shown.begin, shown.end] : part;
    try {
      const svg = await spectrogramFigure(await soundOf(number), without, span, onsetOf);
      button.parentElement.replaceWith(wideBox(svg, words.spectrograms));
    } catch (error) {
      status.value = error.message;
      button.disabled = false;
    }
  };
  const button = make("button", { type: "button", "data-key": "s", onclick: draw },
    picture ? words.other_spectrograms : words.spectrograms);
  const after = picture?.closest("figure") ?? article.querySelector(".listen");
  after.after(make("div", { class: "listen" }, button, status));
}
