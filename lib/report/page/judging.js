// SPDX-License-Identifier: GPL-3.0-or-later
// Judging. Rows that were exported stay: a later one says what has changed.
const storageKey = "lull-judgements-" + data.digest;
const columns = ["when", "reviewer", "report digest", "onset_s", "channel", "old kind", "judgement",
  "new kind", "reason", "new_onset_s", "new_end_s"];
const at = Object.fromEntries(columns.map((name, i) => [name, i]));
let rows = [], exported = 0;
try {
  rows = JSON.parse(kept(storageKey) ?? "[]");
  exported = Number(kept(storageKey + "-exported") ?? 0);
} catch {
  rows = [];
}
const done = rows.slice(exported).map((row) => undoOfRow(row)); // what can be undone: {text, act}
const pending = make("output", { id: "pending", role: "status" });
const panel = {}; // controls of the find in hand

function undoOfRow(row) {
  return { row, text: `${said(row[at.judgement])}, ${row[at.onset_s]} s`, act: () => { rows.splice(rows.indexOf(row), 1); } };
}

function store() {
  keep(storageKey, JSON.stringify(rows));
  keep(storageKey + "-exported", String(exported));
  pending.value = stored ? `${rows.length - exported} ${words.not_exported}` : words.not_stored;
  showList();
  showJudgements();
}

function undo() {
  const last = done.pop();
  last?.act();
  panel.said.value = last ? `${words.undone}: ${last.text}` : words.nothing_to_undo;
  store();
  drawMarks();
}

/// A cell that a spreadsheet would run is neutralised, and quoted where it must be.
function cell(value) {
  let text = String(value);
  if (/^[=+\-@\t\r]/.test(text)) text = "'" + text;
  return /[",\r\n]/.test(text) ? '"' + text.replaceAll('"', '""') + '"' : text;
}

function exportRows() {
  const lines = [columns, ...rows].map((row) => row.map(cell).join(",") + "\r\n");
  const url = URL.createObjectURL(new Blob(lines, { type: "text/csv" }));
  const link = make("a", { href: url, download: "judgements.csv" });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10000);
  exported = rows.length;
  done.splice(0, Infinity, ...done.filter((one) => !one.row));
  store();
}

// The reviewer's name is asked for once and kept.
const nameField = make("input", { id: "reviewer", type: "text", autocomplete: "off" });
const nameBox = make("dialog", { "aria-label": words.reviewer }, make("form", { method: "dialog" },
  labelled(words.reviewer, nameField), make("button", {}, words.keep_name)));
const reviewer = () => (kept("lull-reviewer") ?? nameField.value).trim();
function named() {
  if (reviewer()) return Promise.resolve(true);
  nameBox.showModal();
  return new Promise((resolve) => nameBox.addEventListener("close", () => {
    keep("lull-reviewer", nameField.value.trim());
    resolve(Boolean(nameField.value.trim()));
  }, { once: true }));
}

async function note(about) {
  if (!await named()) { panel.said.value = words.name_first; return; }
  const row = columns.map((name) => about[name] ?? "");
  row[at.when] = new Date().toISOString();
  row[at.reviewer] = reviewer();
  row[at["report digest"]] = data.digest;
  rows.push(row);
  done.push(undoOfRow(row));
  panel.said.value = words.noted;
  store();
}

/// Every judgement of a find: those of the folder, then those of this browser.
function judgementsOf(find) {
  const channels = find.channels.map(nameOf);
  const own = rows.filter((row) => row[at["old kind"]] === find.kind && channels.includes(row[at.channel]) &&
    find.events.some(([onset]) => Math.abs(onset - Number(row[at.onset_s])) <= 0.2));
  return [...find.judged, ...own.map((row) =>
    [row[at.reviewer], row[at.judgement], row[at["new kind"]], row[at.reason], row[at.when]])];
}

/// The last of each reviewer.
function lastJudgements(find) {
  const last = new Map();
  for (const one of judgementsOf(find)) last.set(one[0], one);
  return [...last.values()];
}
const differs = (find) => new Set(lastJudgements(find).map(([, judgement, kind]) => judgement + kind)).size > 1;

function judge(judgement) {
  if (!current) return;
  const moved = edges ?? panel.moved;
  note({ onset_s: current.from.toFixed(6), channel: nameOf(current.channel), "old kind": current.kind, judgement,
    "new kind": panel.kind.value, reason: panel.reason.value.trim(),
    new_onset_s: moved && Math.abs(moved.from - current.from) > 5e-4 ? moved.from.toFixed(6) : "",
    new_end_s: moved && Math.abs(moved.to - current.to) > 5e-4 ? moved.to.toFixed(6) : "" });
  setEdges(null);
}

// Edges are moved in a mode of its own: a click in the picture moves the nearer one.
function setEdges(value) {
  edges = value;
  panel.edges.setAttribute("aria-pressed", String(Boolean(value)));
  lookCanvas.classList.toggle("moving", Boolean(value));
  if (value) panel.said.value = `${words.moving}: ${value.from.toFixed(3)} - ${value.to.toFixed(3)} s`;
  drawMarks();
}

function moveEdge(time) {
  const before = { ...edges };
  const name = Math.abs(time - edges.from) <= Math.abs(time - edges.to) ? "from" : "to";
  done.push({ text: words.edges, act: () => { panel.moved = before; if (edges) setEdges(before); } });
  panel.moved = { ...edges, [name]: time };
  if (panel.moved.from > panel.moved.to) panel.moved = before;
  setEdges(panel.moved);
}

function toggleEdges() {
  if (!current) return;
  setEdges(edges ? null : { ...(panel.moved ?? { from: current.from, to: current.to }) });
}

/// A find that no program listed, from what is selected.
function addFind() {
  if (!selection || !panel.newKind.value) { panel.said.value = words.select_and_kind; return; }
  note({ onset_s: selection.from.toFixed(6), channel: nameOf(look.channel), judgement: "agree",
    "new kind": panel.newKind.value, reason: panel.reason.value.trim(), new_end_s: selection.to.toFixed(6) });
}

const kindChoice = (label, first) =>
  choice(label, [["", first], ...data.kinds.map((kind) => [kind, said(kind)])], () => {});

function judgingPanel() {
  let kindLabel, newLabel;
  [panel.kind, kindLabel] = kindChoice(words.kind, words.same_kind);
  [panel.newKind, newLabel] = kindChoice(words.new_kind, words.choose_kind);
  panel.reason = make("input", { type: "text", size: "24" });
  panel.said = make("output", { role: "status" });
  panel.edges = button(words.edges, "o", toggleEdges, { "aria-pressed": "false" });
  const judgements = [["agree", "a"], ["disagree", "d"], ["unsure", "u"]].map(([value, key]) =>
    button(said(value), key, () => judge(value), { class: "judgement" }));
  return make("div", { id: "judge" }, ...(data.finds.length ? judgements : []),
    ...(data.finds.length ? [kindLabel] : []), labelled(words.reason, panel.reason),
    ...(data.finds.length ? [panel.edges] : []),
    make("span", { id: "add", hidden: "" }, newLabel, button(words.add, "i", addFind)),
    button(words.undo, "z", undo, { class: "undo" }), panel.said,
    make("table", { id: "noted" }, make("tbody", {})));
}

/// Judgements of the find in hand beside each other; on a page without finds, all that was noted.
function showJudgements() {
  const body = document.querySelector("#noted tbody");
  if (!body) return;
  const shown = current ? judgementsOf(current) : rows.map((row) =>
    [row[at.reviewer], row[at.judgement], row[at["new kind"]], row[at.reason], `${row[at.onset_s]} s`]);
  body.replaceChildren(...(current && differs(current) ? [make("tr", {}, make("td", { colspan: "5" }, make("b", {}, words.differ)))] : []),
    ...shown.map((one) => make("tr", {}, ...one.map((text) => make("td", {}, said(text))))));
}

window.addEventListener("beforeunload", (leaving) => {
  if (rows.length > exported) leaving.preventDefault();
});
