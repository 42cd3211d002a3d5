// SPDX-License-Identifier: GPL-3.0-or-later
// The desk: its parts put in place, its keys. Keys never reach a field.
document.documentElement.dataset.look = kept("lull-look") ??
  (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");

function turnLook() {
  document.documentElement.dataset.look = isDark() ? "light" : "dark";
  keep("lull-look", document.documentElement.dataset.look);
  drawAll();
}

const inField = (target) => target.isContentEditable ||
  target.matches?.("input:not([type=radio]):not([type=checkbox]):not([type=range]),select,textarea,dialog *");

document.addEventListener("keydown", (typed) => {
  if (inField(typed.target)) {
    if (typed.key === "Escape" || (typed.key === "Enter" && !typed.target.closest("dialog"))) typed.target.blur();
    return;
  }
  if (typed.key === "Escape") { setEdges(null); select(null); }
  if ((typed.ctrlKey || typed.metaKey) && typed.key === "z") { undo(); typed.preventDefault(); return; }
  if (typed.ctrlKey || typed.altKey || typed.metaKey) return;
  const own = { n: () => step(1), p: () => step(-1), ArrowLeft: () => setCursor(cursor - (view.to - view.from) / 50),
    ArrowRight: () => setCursor(cursor + (view.to - view.from) / 50), h: playFind, x: stop, e: exportRows, c: keepBeside }[typed.key];
  const control = !own && typed.key.length === 1 && document.querySelector(`[data-key="${CSS.escape(typed.key)}"]`);
  if (typed.key === " " && typed.target.matches?.("button,summary,input")) return;
  if (own) own();
  else if (control && !control.closest("[hidden]")) control.click();
  else return;
  typed.preventDefault();
});

document.addEventListener("click", (click) => {
  const link = click.target.closest?.("a[href^='#find-']");
  if (!link || click.ctrlKey || click.metaKey || click.shiftKey) return;
  const find = finds.get(Number(link.getAttribute("href").slice(6)));
  if (!find) return;
  click.preventDefault();
  openFind(find, { heard: true });
});
window.addEventListener("popstate", () => { if (!openNamed(false)) openFind(null); });

document.body.classList.add("scripted");
const keys = make("dl", {}, ...words.keys.flatMap(([key, text]) => [make("dt", {}, make("kbd", {}, key)), make("dd", {}, text)]));
addView();
controls.atOnce = make("input", { type: "checkbox", checked: "" });
controls.both = make("input", { type: "checkbox" });
document.querySelector("#look .controls:last-child").append(labelled(words.both_ears, controls.both));
document.getElementById("top").append(make("div", { class: "controls" },
  button(words.export, null, exportRows, { id: "export" }), pending,
  button(words.compare, null, keepBeside), labelled(words.at_once, controls.atOnce),
  button(words.turn_look, null, turnLook),
  make("details", { id: "keys" }, make("summary", {}, words.keyboard), keys)), nameBox);
document.getElementById("finds").append(findControls(), list);
document.querySelector("#details > h2").after(judgingPanel(), beside);
store();
if (!openNamed(false)) {
  if (data.finds.length) openFind(data.finds[0], { told: false });
  else show(data.from_s, Math.min(data.to_s, data.from_s + 60));
}
