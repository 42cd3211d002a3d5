// SPDX-License-Identifier: GPL-3.0-or-later
// Two finds beside each other, their waveforms aligned at their best events' onsets.
let compared = null;
const beside = make("section", { id: "beside", hidden: "", "aria-label": words.compare });
const aligned = 1.2, before_onset = 0.2; // seconds shown, and of them before the onset

async function compareCanvas(find) {
  const canvas = make("canvas", { role: "img", "aria-label": `${words.compare}: ${find.n}`, width: "600", height: "90" });
  const { rate, channels } = await samplesOf(Math.max(data.from_s, find.best - before_onset), Math.min(data.to_s, find.best - before_onset + aligned), [find.channel]);
  const samples = channels.get(find.channel), brush = canvas.getContext("2d");
  drawWave(brush, samples, 0, Math.round(aligned * rate), 600, 0, 90);
  brush.fillStyle = colour("--cursor");
  brush.fillRect(before_onset / aligned * 600, 0, 1, 90);
  return canvas;
}

async function showCompare(find) {
  if (!compared || !find || find === compared) return;
  try {
    const rows = await Promise.all([compared, find].map(async (one) => make("figure", {},
      make("figcaption", {}, `${one.n}: ${one.what}, ${timeText(one.from, 1)}, ${nameOf(one.channel)}`), await compareCanvas(one))));
    beside.replaceChildren(...rows, button(words.end_compare, null, endCompare));
    beside.hidden = false;
  } catch (error) {
    status.value = error.message;
  }
}

function endCompare() {
  compared = null;
  beside.hidden = true;
}

/// Keeps the find in hand beside the next that is opened.
function keepBeside() {
  compared = compared ? (endCompare(), null) : current;
  if (compared) status.value = words.compare_next;
}
