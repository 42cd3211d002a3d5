// SPDX-License-Identifier: GPL-3.0-or-later
// Listening. A page opened from a disk may not read the files beside it, but may load a script:
// so the sound of an event's channels comes as one.
const fadeSeconds = 0.03;
const loading = new Map(), sounds = new Map();
let context = null, playing = [];

window.lullSound = (sound) => loading.get(sound.event)?.(sound);

function audio() {
  context ??= new AudioContext();
  context.resume();
  return context;
}

async function soundOf(number) {
  if (!sounds.has(number)) {
    const sound = await new Promise((resolve, reject) => {
      loading.set(number, resolve);
      document.head.append(make("script", {
        src: "excerpts/" + data.sounds[number].file,
        onerror: () => reject(new Error(words.no_sound)),
      }));
    });
    const bytes = Uint8Array.from(atob(sound.flac), (c) => c.charCodeAt(0));
    sounds.set(number, { ...sound, buffer: await audio().decodeAudioData(bytes.buffer) });
  }
  return sounds.get(number);
}

function stop() {
  for (const source of playing) source.stop();
  playing = [];
}

/// The samples for the left and the right ear: one channel each, or the mean of all on both.
function ears(sound, left, right) {
  const frames = sound.buffer.length;
  const stereo = audio().createBuffer(2, frames, sound.buffer.sampleRate);
  if (left !== null) {
    stereo.copyToChannel(sound.buffer.getChannelData(sound.channels.indexOf(left)), 0);
    stereo.copyToChannel(sound.buffer.getChannelData(sound.channels.indexOf(right)), 1);
    return stereo;
  }
  const mix = new Float32Array(frames);
  for (let c = 0; c < sound.channels.length; ++c) {
    const samples = sound.buffer.getChannelData(c);
    for (let i = 0; i < frames; ++i) mix[i] += samples[i] / sound.channels.length;
  }
  stereo.copyToChannel(mix, 0);
  stereo.copyToChannel(mix, 1);
  return stereo;
}

/// Band-passed if asked, then limited and faded in: no sound of the page can hurt.
function play(sound, left, right, banded, speed) {
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
  playing = [source];
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
    const ear = (select) => (mix ? null : Number(select.value));
    play(sound, ear(left), ear(right), banded.checked, Number(speed.value));
    draw(sound);
    status.value = words.playing;
  }).catch((error) => { status.value = error.message; });
  const canvas = make("canvas", { width: 900, height: 60 * heard.length, hidden: "",
    role: "img", "aria-label": words.waveforms });
  const draw = (sound) => drawWaveforms(canvas, sound, event);
  article.querySelector("h3").after(make("div", { class: "listen" },
    labelled(words.left, left), labelled(words.right, right), labelled(words.banded, banded),
    labelled(words.speed, speed),
    make("button", { type: "button", "data-key": "l", onclick: () => begin(false) }, words.play_ears),
    make("button", { type: "button", "data-key": "m", onclick: () => begin(true) }, words.play_mix),
    make("button", { type: "button", onclick: () => { stop(); status.value = ""; } }, words.stop),
    status, canvas));
}

/// Each channel over the same time, with its onset as a line; one scale for all.
function drawWaveforms(canvas, sound, event) {
  canvas.hidden = false;
  const pen = canvas.getContext("2d"), lane = 60, duration = sound.buffer.duration;
  pen.clearRect(0, 0, canvas.width, canvas.height);
  pen.font = "12px sans-serif";
  sound.channels.forEach((channel, row) => {
    const samples = sound.buffer.getChannelData(row), middle = row * lane + lane / 2;
    pen.strokeStyle = "#444";
    pen.beginPath();
    for (let x = 0; x < canvas.width; ++x) {
      const from = Math.floor(x * samples.length / canvas.width);
      const to = Math.max(from + 1, Math.floor((x + 1) * samples.length / canvas.width));
      let low = 1, high = -1;
      for (let i = from; i < to; ++i) {
        low = Math.min(low, samples[i]);
        high = Math.max(high, samples[i]);
      }
      pen.moveTo(x + 0.5, middle - high * lane * 0.9);
      pen.lineTo(x + 0.5, middle - low * lane * 0.9 + 1);
    }
    pen.stroke();
    pen.fillText(nameOf(channel), 4, row * lane + 12);
    const arrival = event?.arrivals.find(([c]) => c === channel);
    if (!arrival) return;
    const at = (arrival[1] - sound.from) / duration * canvas.width;
    pen.strokeStyle = "#000";
    pen.setLineDash([4, 3]);
    pen.strokeRect(at, row * lane, 0, lane);
    pen.setLineDash([]);
  });
}
