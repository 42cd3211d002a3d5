// SPDX-License-Identifier: GPL-3.0-or-later
// The page's own script, its parts one after another in one function. Without it the page still
// shows all that is printed. Words come from the page's data, never from here.
const data = JSON.parse(document.getElementById("page-data").textContent);
const words = data.words;

function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value !== null) node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
}
function drawn(tag, attributes, text) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  if (text !== undefined) node.textContent = text;
  return node;
}
const option = (value, text) => make("option", { value }, text);
const labelled = (text, control) => make("label", {}, text + " ", control);
function bytesOf(base64) {
  const text = atob(base64), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
  return bytes;
}
const nameOf = (channel) => data.channels[channel];
const said = (word) => words.values[word] ?? word;
const events = new Map(data.events.map((event) => [event.n, event]));
const loadScript = (src, refuse) =>
  document.head.appendChild(make("script", { src, onerror: refuse }));
/// A box that scrolls where the screen is too narrow.
const wideBox = (inner, what) =>
  make("div", { class: "wide", tabindex: "0", role: "group", "aria-label": what }, inner);
