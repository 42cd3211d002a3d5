// SPDX-License-Identifier: GPL-3.0-or-later
// The page's own script, its parts one after another in one function. Without it the page still
// shows all that is printed. Words come from the page's data, never from here.
const data = JSON.parse(document.getElementById("page-data").textContent);
const words = data.words, desk = document.getElementById("desk");

function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value !== null) node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
}
const option = (value, text) => make("option", { value }, text);
const labelled = (text, control) => make("label", {}, text + " ", control);
const choice = (label, options, act) => {
  const select = make("select", { onchange: act }, ...options.map(([value, text]) => option(value, text)));
  return [select, labelled(label, select)];
};
const button = (text, key, act, more = {}) =>
  make("button", { type: "button", "data-key": key, onclick: act, ...more }, text);
function bytesOf(base64) {
  const text = atob(base64), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
  return bytes;
}
const nameOf = (channel) => data.channels[channel];
const said = (word) => words.values[word] ?? word;
const finds = new Map(data.finds.map((find) => [find.n, find]));
const loadScript = (src, refuse) =>
  document.head.appendChild(make("script", { src, onerror: refuse }));
const clamped = (value, low, high) => Math.min(Math.max(value, low), high);

/// Clock time (hh:mm:ss) where the start is known, else minutes and seconds (m:ss, h:mm:ss), each as
/// the tools' options read it; as fine as the step needs.
function timeText(time, step) {
  const second = data.clock_s === null ? time : (data.clock_s + time) % 86400;
  const decimals = step < 1 ? Math.min(3, Math.ceil(-Math.log10(step))) : 0;
  const scale = 10 ** decimals, shown = Math.round(second * scale) / scale;
  const whole = Math.floor(shown / 60), rest = (shown - 60 * whole).toFixed(decimals);
  const seconds = rest.padStart(decimals ? decimals + 3 : 2, "0");
  const hours = Math.floor(whole / 60), minutes = String(whole % 60).padStart(2, "0");
  if (data.clock_s !== null) return `${String(hours).padStart(2, "0")}:${minutes}:${seconds}`;
  if (whole < 60) return `${whole}:${seconds}`;
  return `${hours < 10 ? "" : "+"}${hours}:${minutes}:${seconds}`;
}

/// What this browser keeps for the page; nothing where it keeps nothing.
let stored = true;
function kept(name) {
  try { return localStorage.getItem(name); } catch { stored = false; return null; }
}
function keep(name, value) {
  try { localStorage.setItem(name, value); } catch { stored = false; }
}
