// SPDX-License-Identifier: GPL-3.0-or-later
// Keys. Those of an event act on the one that has the focus, or was last gone to.
const articles = [];
let current = -1;

function goTo(index) {
  if (articles.length === 0) return;
  if (index >= articles.length && partsLoaded < data.parts) {
    loadPart().then((more) => { if (more) goTo(index); });
    return;
  }
  current = Math.min(Math.max(index, 0), articles.length - 1);
  fill(articles[current]);
  articles[current].focus();
  articles[current].scrollIntoView({ block: "start" });
}

function press(key) {
  const article = document.activeElement?.closest?.("article[data-number]") ?? articles[current];
  if (article) fill(article);
  const control = article?.querySelector(`[data-key="${CSS.escape(key)}"]`) ??
    document.querySelector(`.controls [data-key="${CSS.escape(key)}"]`);
  control?.click();
  return Boolean(control);
}

const inField = (at) => at.isContentEditable ||
  at.matches?.("input:not([type=radio]):not([type=checkbox]),select,textarea");

/// Enter and Escape leave a field for the event last gone to, where letters are keys again.
function leaveField(field, key) {
  if (key !== "Escape" && !(key === "Enter" && field.matches("input"))) return;
  field.blur();
  articles[current]?.focus();
}

document.addEventListener("keydown", (typed) => {
  if (typed.key === "Escape") endPointing();
  if (inField(typed.target)) return leaveField(typed.target, typed.key);
  if ((typed.ctrlKey || typed.metaKey) && typed.key === "z") {
    (articles[current]?.querySelector(".undo") ?? document.querySelector(".undo")).click();
    typed.preventDefault();
  }
  if (typed.ctrlKey || typed.altKey || typed.metaKey) return;
  if (typed.key === "n") goTo(current + 1);
  else if (typed.key === "p") goTo(current - 1);
  else if (typed.key === "x") stop();
  else if (typed.key === "e") exportRows();
  else if (!(typed.key.length === 1 && press(typed.key))) return;
  typed.preventDefault();
});

window.addEventListener("beforeunload", (leaving) => {
  if (rows.length > exported) leaving.preventDefault();
});

document.body.classList.add("scripted");
const keys = make("dl", {}, ...words.keys.flatMap(([key, text]) =>
  [make("dt", {}, make("kbd", {}, key)), make("dd", {}, text)]));
const first = document.getElementById("counts") ?? document.getElementById("details");
first.before(make("div", { class: "controls" },
  labelled(words.volume, make("input", { id: "volume", type: "range", min: "0", max: "100", value: "50" })),
  make("details", {}, make("summary", {}, words.keyboard), keys)));
document.getElementById("details")?.before(judgingSection());
if (!document.getElementById("judge"))
  document.getElementById("time-line").after(judgingSection());

/// Makes articles work that the page has come to hold, once their insides are made.
function addArticles() {
  for (const article of document.querySelectorAll("article[data-number]:not([tabindex])")) {
    const number = Number(article.dataset.number), event = events.get(number);
    const index = articles.push(article) - 1;
    article.tabIndex = -1;
    article.addEventListener("focusin", () => {
      current = index;
      if (pointing?.article !== article) endPointing();
    });
    later(article, () => {
      if (data.sounds[number]) addListening(article, number, event);
      if (event) addJudging(article, event);
      else article.querySelector(".listen")?.append(
        pointButton(article, words.point_onset, "o", moveAdded));
    });
  }
}

addArticles();
for (const rest of document.querySelectorAll(".rest"))
  later(rest, () => { // one table, once it is made
    rest.previousElementSibling.querySelector("tbody").append(...rest.querySelectorAll("tbody > tr"));
    rest.remove();
  });
for (const figure of document.querySelectorAll("#places figure, #audible figure")) later(figure);
if (data.parts > 0) document.getElementById("details").append(moreButton, moreStatus);
if (document.getElementById("time-line")) {
  addTimeLine();
  drawTimeLine();
}
showRows();
if (location.hash) goToNamed(location.hash.slice(1));
