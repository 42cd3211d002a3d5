// SPDX-License-Identifier: GPL-3.0-or-later
// The figure of an event: where time lies on it, a line that moves, pointing at a time.

/// The waveforms of sounds, where the page has no picture of them.
function waveFigure(sound) {
  const left = 130, right = 690, height = 40, seconds = sound.tracks[0].buffer.duration;
  const svg = drawn("svg", { viewBox: `0 0 720 ${height * sound.tracks.length + 4}`, role: "img", width: 720,
    "font-size": 11, "aria-label": words.waveforms, "data-from": sound.from,
    "data-to": sound.from + seconds, "data-left": left, "data-right": right });
  sound.tracks.forEach(({ channel, buffer }, row) => {
    const samples = buffer.getChannelData(0), middle = (row + 0.5) * height;
    let path = "", largest = 1e-9;
    for (const sample of samples) largest = Math.max(largest, Math.abs(sample));
    for (let x = left; x < right; ++x) {
      const from = Math.floor((x - left) * samples.length / (right - left));
      const to = Math.max(from + 1, Math.floor((x + 1 - left) * samples.length / (right - left)));
      let low = 1, high = -1;
      for (let i = from; i < to; ++i) {
        low = Math.min(low, samples[i]);
        high = Math.max(high, samples[i]);
      }
      const y = (level) => (middle - level / largest * height * 0.45).toFixed(1);
      path += `M${x} ${y(high)}V${(y(low) - -0.5).toFixed(1)}`;
    }
    svg.append(drawn("text", { x: left - 8, y: middle + 4, "text-anchor": "end" }, nameOf(channel)),
      drawn("path", { d: path, stroke: "#111", fill: "none" }));
  });
  return svg;
}

/// What can be asked of an article's figures, the first of them first.
const figuresOf = (article) => [...article.querySelectorAll("svg[data-from]")].map(figureOf);
const markAll = (article, name, time) =>
  figuresOf(article).forEach((figure) => figure.mark(name, time));

function figureOf(svg) {
  const [begin, end, left, right] =
    ["from", "to", "left", "right"].map((name) => Number(svg.dataset[name]));
  const { width, height } = svg.viewBox.baseVal;
  return {
    svg, begin, end,
    timeAt(clientX) {
      const box = svg.getBoundingClientRect();
      const share = ((clientX - box.left) / box.width * width - left) / (right - left);
      return begin + Math.min(Math.max(share, 0), 1) * (end - begin);
    },
    /// A line of that name at a time; outside the figure, or without a time, none.
    mark(name, time) {
      svg.querySelector("." + name)?.remove();
      if (!(time >= begin && time <= end)) return;
      const x = left + (time - begin) / (end - begin) * (right - left);
      svg.append(drawn("line", { class: name, x1: x, x2: x, y1: 0, y2: height - 34, stroke: "#111",
        "stroke-width": name === "heard" ? 1 : 2.5 }));
    },
  };
}

// Pointing: after its button, and only then, a click on a figure of the article gives a time. The
// click, the button again, Escape and another event end it.
let pointing = null;

function endPointing() {
  pointing?.button.setAttribute("aria-pressed", "false");
  pointing?.article.classList.remove("pointing");
  pointing = null;
}

/// \param take  gets the time, to a millisecond
function pointButton(article, text, key, take) {
  const button = make("button", { type: "button", "aria-pressed": "false", "data-key": key,
    onclick: () => {
      const again = pointing?.button === button;
      endPointing();
      if (again) return;
      pointing = { article, button };
      button.setAttribute("aria-pressed", "true");
      article.classList.add("pointing");
    } }, text);
  article.addEventListener("click", (at) => {
    const svg = at.target.closest("svg[data-from]");
    if (!svg || pointing?.button !== button) return;
    endPointing();
    take(figureOf(svg).timeAt(at.clientX).toFixed(3));
  });
  return button;
}
