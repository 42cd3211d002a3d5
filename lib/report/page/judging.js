// SPDX-License-Identifier: GPL-3.0-or-later
// Judging. Rows that were exported stay: a later one says what has changed.
const storageKey = "lull-judgements-" + data.digest;
const columns = ["when", "reviewer", "report digest", "onset_s", "channel", "old kind", "judgement",
  "new kind", "reason", "new_onset_s"];
const shownColumns = columns.filter((name) => name !== "report digest");
let rows = [], exported = 0, stored = true;
try {
  rows = JSON.parse(localStorage.getItem(storageKey) ?? "[]");
  exported = Number(localStorage.getItem(storageKey + "-exported") ?? 0);
} catch {
  stored = false;
}

// What can be undone, the last of it last: {text, act, row}.
const done = [];
rows.slice(exported).forEach((row) => rowDone(row));

function rowDone(row, status) {
  const text = `${said(row[columns.indexOf("judgement")])}, ${row[columns.indexOf("onset_s")]} s`;
  done.push({ text, row, act: () => {
    rows.pop();
    if (status) status.value = "";
    store();
  } });
}

/// Makes each change of an onset's field one that can be undone.
/// \param shown  called when the field holds another time  \return sets the field
function watchOnset(field, shown) {
  let before = field.value;
  const put = (value) => { field.value = before = value; shown(); };
  const changed = (value) => {
    const old = before;
    put(value);
    if (value !== old) done.push({ text: `${words.onset}: ${value}`, act: () => put(old) });
  };
  field.addEventListener("input", shown);
  field.addEventListener("change", () => changed(field.value));
  return changed;
}

/// A button that undoes the last thing done, and says what.
function undoButton() {
  const status = make("output", { role: "status" });
  return [make("button", { type: "button", class: "undo", onclick: () => {
    const last = done.pop();
    last?.act();
    status.value = last ? `${words.undone}: ${last.text}` : words.nothing_to_undo;
  } }, words.undo), status];
}

function store() {
  try {
    localStorage.setItem(storageKey, JSON.stringify(rows));
    localStorage.setItem(storageKey + "-exported", String(exported));
  } catch {
    stored = false;
  }
  showRows();
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

function note({ onset, channel, oldKind = "", judgement, newKind, reason, moved = "" }, status) {
  const reviewer = document.getElementById("reviewer");
  if (!reviewer.value.trim()) {
    status.value = words.name_first;
    reviewer.focus();
    return;
  }
  const row = [new Date().toISOString(), reviewer.value.trim(), data.digest, onset.toFixed(6), channel,
    oldKind, judgement, newKind, reason, moved];
  rows.push(row);
  rowDone(row, status);
  store();
  status.value = words.noted;
}

function showRows() {
  document.getElementById("pending").value = stored
    ? `${rows.length - exported} ${words.not_exported}` : words.not_stored;
  document.getElementById("noted").replaceChildren(...rows.map((row) => make("tr", {},
    ...shownColumns.map((name) => make("td", {}, said(row[columns.indexOf(name)] ?? ""))))));
}

const kindChoice = (first) => make("select", {}, option("", first),
  ...data.kinds.map((kind) => option(kind, said(kind))));

function addJudging(article, event) {
  const group = "judgement-" + event.n, status = make("output", { role: "status" });
  const choices = [["agree", "a"], ["disagree", "d"], ["unsure", "u"]].map(([value, key]) =>
    make("label", {}, make("input", { type: "radio", name: group, value, "data-key": key }),
      " " + said(value) + " "));
  const kind = kindChoice(words.same_kind);
  const onset = make("input", { type: "number", step: "0.001", min: "0", value: event.onset.toFixed(3) });
  const reason = make("input", { type: "text", size: "40" });
  const accept = () => {
    const chosen = article.querySelector(`input[name="${group}"]:checked`);
    if (!chosen) { status.value = words.choose_first; return; }
    const moved = Math.abs(Number(onset.value) - event.onset) > 0.0005 && onset.value
      ? Number(onset.value).toFixed(6) : "";
    note({ onset: event.onset, channel: nameOf(event.channel), oldKind: event.kind,
      judgement: chosen.value, newKind: kind.value, reason: reason.value.trim(), moved }, status);
  };
  const found = onset.value;
  const back = make("button", { type: "button", hidden: "", onclick: () => moveTo(found) },
    `${words.onset_back} ${found}`);
  const moveTo = watchOnset(onset, () => {
    back.hidden = onset.value === found;
    markAll(article, "moved", back.hidden ? NaN : Number(onset.value || NaN));
  });
  article.append(make("fieldset", { class: "judge" }, make("legend", {}, words.your_judgement),
    ...choices, labelled(words.kind, kind), labelled(words.onset, onset),
    pointButton(article, words.move_onset, "o", moveTo), back,
    labelled(words.reason, reason),
    make("button", { type: "button", "data-key": "j", onclick: accept }, words.note_it), status,
    ...undoButton()));
}

let moveAdded = null; // sets the onset of an event to be added

function judgingSection() {
  const status = make("output", { role: "status" });
  const onset = make("input", { id: "added-onset", type: "number", step: "0.001", min: "0" });
  moveAdded = watchOnset(onset, () => { // pictures of slices, where nothing was found
    if (data.events.length === 0)
      for (const article of articles) markAll(article, "moved", Number(onset.value || NaN));
  });
  const channel = make("select", {}, ...data.channels.map((name) => option(name, name)));
  const kind = kindChoice(words.choose_kind), reason = make("input", { type: "text", size: "40" });
  const add = () => {
    if (!onset.value || !kind.value) { status.value = words.onset_and_kind; return; }
    note({ onset: Number(onset.value), channel: channel.value, judgement: "agree",
      newKind: kind.value, reason: reason.value.trim() }, status);
  };
  return make("section", { id: "judge" }, make("h2", {}, words.judge),
    make("p", {}, words.judge_about),
    make("p", { class: "controls" }, labelled(words.reviewer, make("input", { id: "reviewer", type: "text" })),
      make("button", { type: "button", id: "export", onclick: exportRows }, words.export),
      make("output", { id: "pending", role: "status" }), ...undoButton()),
    make("fieldset", { class: "judge" }, make("legend", {}, words.add_event),
      labelled(words.onset, onset), labelled(words.channel, channel), labelled(words.kind, kind),
      labelled(words.reason, reason),
      make("button", { type: "button", onclick: add }, words.add), status),
    make("div", { class: "wide", tabindex: "0", role: "group", "aria-label": words.judge },
      make("table", {}, make("thead", {}, make("tr", {}, ...shownColumns.map((name) =>
        make("th", { scope: "col" }, words.columns[name] ?? name)))),
      make("tbody", { id: "noted" }))));
}
