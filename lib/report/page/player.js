// SPDX-License-Identifier: GPL-3.0-or-later
// Playing: one channel on each ear, band-passed, slowed or sped up, over and over; limited and faded
// in, so that no sound of the page can hurt. Sound and cursor keep the same time.
const fadeSeconds = 0.03, pieceSeconds = 10, peak = 10 ** (data.excerpt.peak_db / 20);
const controls = {};
let context = null, playing = null;

function audio() {
  context ??= new AudioContext();
  context.resume();
  return context;
}

const status = make("output", { id: "playing", role: "status" });

function stop() {
  const was = playing;
  playing = null;
  if (!was) return;
  for (const source of was.sources) source.stop();
  status.value = "";
  setCursor(was.at());
}

/// What plays into: limiter, loudness.
function outlet() {
  const now = audio(), speed = Number(controls.speed.value);
  const nodes = [];
  if (controls.band.checked)
    for (const [type, frequency] of [["highpass", data.band[0]], ["lowpass", data.band[1]]])
      nodes.push(new BiquadFilterNode(now, { type, frequency: Math.min(frequency * speed, now.sampleRate / 2 - 1) }));
  nodes.push(new DynamicsCompressorNode(now, { threshold: -18, ratio: 20, attack: 0.001 }));
  const gain = new GainNode(now, { gain: 0 });
  gain.gain.linearRampToValueAtTime(Number(controls.volume.value) / 100, now.currentTime + fadeSeconds);
  nodes.push(gain);
  nodes.forEach((node, i) => node.connect(nodes[i + 1] ?? now.destination));
  return nodes[0];
}

/// The two ears of a stretch, without gain; both the same where one channel is chosen for both.
async function earsOf(from, to) {
  const ears = [Number(controls.left.value), Number(controls.right.value)];
  const { rate, channels } = await samplesOf(from, to, [...new Set(ears)]);
  const buffer = audio().createBuffer(2, channels.get(ears[0]).length, rate);
  ears.forEach((channel, ear) => buffer.copyToChannel(channels.get(channel), ear));
  return buffer;
}

/// As loud as an excerpt of it is; one number for both ears and all that follows, so that its course
/// stays as it was.
function gainFor(buffer) {
  let largest = 10 ** (-data.excerpt.largest_gain_db / 20) * peak;
  for (const ear of [0, 1])
    for (const sample of buffer.getChannelData(ear)) largest = Math.max(largest, Math.abs(sample));
  return peak / largest;
}

/// Plays a stretch from one time on, piece after piece.
async function play(from, to, over = false) {
  stop();
  const now = audio(), speed = Number(controls.speed.value), own = { sources: [], at: () => from };
  playing = own;
  status.value = words.loading;
  try {
    let at = from, time = 0, gain = null;
    const out = outlet();
    while (playing === own && at < to - 1e-4) {
      const end = Math.min(to, at + pieceSeconds), buffer = await earsOf(at, end);
      if (playing !== own) return;
      gain ??= new GainNode(now, { gain: gainFor(buffer) });
      gain.connect(out);
      const source = new AudioBufferSourceNode(now, { buffer, playbackRate: speed });
      source.connect(gain);
      const once = at === from && end === to;
      source.loop = over && once;
      if (time === 0) {
        time = now.currentTime + 0.02;
        const began = time, length = to - from;
        own.at = () => {
          const past = Math.max(0, now.currentTime - began) * speed;
          return from + (over ? past % length : Math.min(past, length));
        };
        status.value = words.playing;
        follow(own);
      }
      source.start(time);
      own.sources.push(source);
      time += buffer.duration / speed;
      at = end;
      if (at >= to - 1e-4) {
        if (over && !once) { at = from; continue; }
        source.onended = () => { if (playing === own) stop(); };
        return;
      }
      // The next piece is made while this one is heard.
      while (playing === own && now.currentTime < time - pieceSeconds / 2 / speed)
        await new Promise((resolve) => setTimeout(resolve, 100));
    }
  } catch (error) {
    if (playing === own) { playing = null; status.value = error.message; }
  }
}

/// The cursor goes with the sound.
function follow(own) {
  if (playing !== own) return;
  setCursor(own.at(), true);
  requestAnimationFrame(() => follow(own));
}

/// Space: stops; plays the selection; else from the cursor on.
function playOrStop() {
  if (playing) return stop();
  if (selection) return play(selection.from, selection.to, controls.loop.checked);
  if (controls.loop.checked) return play(view.from, view.to, true);
  return play(clamped(cursor, data.from_s, data.to_s - 0.01), data.to_s);
}

function playerControls() {
  const channels = data.channels.map((name, c) => [c, name]);
  [controls.left, controls.leftLabel] = choice(words.left, channels, replay);
  [controls.right, controls.rightLabel] = choice(words.right, channels, replay);
  controls.band = make("input", { type: "checkbox", onchange: replay });
  [controls.speed, controls.speedLabel] = choice(words.speed, [[1, words.as_recorded], [0.5, words.half],
    [0.25, words.quarter], [2, words.twice], [4, words.four_times]], replay);
  controls.loop = make("input", { type: "checkbox", "data-key": "l" });
  controls.volume = make("input", { type: "range", min: "0", max: "100", value: "50" });
  return make("div", { class: "controls" }, button(words.play, " ", playOrStop, { id: "play" }),
    labelled(words.loop, controls.loop), controls.leftLabel, controls.rightLabel, controls.speedLabel,
    labelled(words.banded, controls.band), labelled(words.volume, controls.volume), status);
}

/// A changed setting is heard at once.
function replay() {
  if (!playing) return;
  const at = playing.at();
  stop();
  play(at, selection ? selection.to : data.to_s);
}
