// SPDX-License-Identifier: GPL-3.0-or-later
// The list of finds: filtered, sorted, one of them in hand.
const list = make("ol", { id: "list" }), filter = {}, more_a_time = 100;
let listed = [], shownCount = more_a_time;

const isJudged = (find) => judgementsOf(find).length > 0;
const orders = {
  deserving: (a, b) => a.n - b.n, time: (a, b) => a.from - b.from,
  confidence: (a, b) => b.confidence - a.confidence, snr: (a, b) => (b.snr ?? Infinity) - (a.snr ?? Infinity),
};

function wanted(find) {
  const text = filter.text.value.trim().toLowerCase();
  return (!filter.kind.value || find.kind === filter.kind.value) &&
    (!filter.channel.value || find.channels.includes(Number(filter.channel.value))) &&
    find.confidence >= Number(filter.confidence.value) && (!filter.quiet.checked || find.quiet) &&
    (!filter.judged.value || (filter.judged.value === "differ" ? differs(find) : isJudged(find) === (filter.judged.value === "yes"))) &&
    (!text || [find.what, nameOf(find.channel), ...judgementsOf(find).map((one) => one.join(" "))]
      .join(" ").toLowerCase().includes(text));
}

function rowOf(find) {
  const judged = lastJudgements(find);
  const link = make("a", { href: "#find-" + find.n, class: "find", "aria-current": find === current ? "true" : null },
    make("b", {}, String(find.n)),
    find.picture ? make("img", { src: "data:image/png;base64," + find.picture, alt: "", width: "96", height: "28" }) : make("span", { class: "blank" }),
    make("span", { class: "what" }, find.what), make("span", { class: "when" }, `${timeText(find.from, 1)}, ${nameOf(find.channel)}`),
    make("span", { class: "sure" }, find.confidence.toFixed(2)),
    make("span", { class: "judged" }, judged.map(([, judgement]) => said(judgement)).join(", ")));
  return make("li", { class: find.confidence >= 0.5 ? "" : "lesser-row" }, link);
}

function hailRow([number, from, to, channel]) {
  return make("li", {}, make("button", { type: "button", class: "hail", onclick: () => {
    openFind(null);
    show(from - 2, to + 8);
    setCursor(from);
    select(null);
    if (hasSound) play(Math.max(data.from_s, from - 0.5), Math.min(data.to_s, to + 6));
  } }, `${words.hail} ${number}: ${timeText(from, 1)}, ${nameOf(channel) ?? ""}`));
}

function showList() {
  listed = data.finds.filter(wanted).sort(orders[filter.order.value]);
  list.replaceChildren(...listed.slice(0, shownCount).map(rowOf));
  filter.count.value = `${listed.length} / ${data.finds.length}`;
  if (listed.length > shownCount)
    list.append(make("li", {}, make("button", { type: "button", onclick: () => { shownCount += more_a_time; showList(); } }, words.more)));
  if (data.hails.length)
    list.append(make("li", { class: "head" }, words.hails), ...data.hails.map(hailRow));
}

/// Where the find is heard and seen: all of it with some time round it, or as much as one can hear.
function stretchOf(find) {
  const begin = find.to - find.from > 25 ? Math.max(find.from, find.best - 2) : find.from;
  return [Math.max(data.from_s, begin - 0.6), Math.min(data.to_s, find.to + 0.9, begin + 25)];
}

function playFind() {
  if (!current || !hasSound) return;
  const [from, to] = stretchOf(current);
  play(from, to, controls.loop.checked);
}

/// Takes a find in hand: its article, its stretch, its channels.
async function openFind(find, { heard = false, told = true } = {}) {
  stop();
  if (compared && find !== compared) showCompare(find);
  current = find;
  panel.moved = null;
  setEdges(null);
  panel.kind.value = "";
  panel.reason.value = panel.said.value = "";
  for (const article of document.querySelectorAll("article.current")) article.classList.remove("current");
  showJudgements();
  showList();
  if (!find) return drawAll();
  if (told && location.hash !== "#find-" + find.n) history.pushState(null, "", "#find-" + find.n);
  look.channel = find.channel;
  look.chosen.value = String(find.channel);
  const second = find.channels.find((channel) => channel !== find.channel) ?? find.channel;
  controls.left.value = String(find.channel);
  controls.right.value = String(controls.both.checked ? find.channel : second);
  const [from, to] = stretchOf(find);
  select(null);
  setCursor(from);
  show(from, to);
  list.querySelector("[aria-current]")?.scrollIntoView({ block: "nearest" });
  if (heard && controls.atOnce.checked) playFind();
  const article = await articleOf(find.n);
  if (article && find === current) article.classList.add("current");
}

function step(by) {
  const index = listed.indexOf(current);
  const next = listed[clamped(index + by, 0, listed.length - 1)];
  if (!next) return;
  if (index + by >= shownCount) { shownCount += more_a_time; }
  openFind(next, { heard: true });
}

/// The find that the address names.
function openNamed(heard) {
  const number = Number(/^#find-(\d+)$/.exec(location.hash)?.[1]);
  if (finds.has(number)) openFind(finds.get(number), { heard, told: false });
  return finds.has(number);
}

function findControls() {
  const make_choice = (name, label, options) => {
    let shown;
    [filter[name], shown] = choice(label, options, showList);
    return shown;
  };
  filter.quiet = make("input", { type: "checkbox", onchange: showList });
  filter.text = make("input", { type: "search", size: "12", oninput: showList });
  filter.count = make("output", {});
  return make("details", { id: "filters" }, make("summary", {}, words.filter), make("div", { class: "controls" },
    make_choice("order", words.order, [["deserving", words.deserving], ["time", words.time], ["confidence", words.confidence], ["snr", words.snr]]),
    make_choice("kind", words.kind, [["", words.any], ...data.kinds.map((kind) => [kind, said(kind)])]),
    make_choice("channel", words.channel, [["", words.any], ...data.channels.map((name, c) => [c, name])]),
    make_choice("confidence", words.confidence, [[0, words.any], [0.5, "0.5"], [0.75, "0.75"], [0.9, "0.9"]]),
    make_choice("judged", words.judged, [["", words.any], ["no", words.not_judged], ["yes", words.judged], ["differ", words.differ]]),
    labelled(words.quiet_only, filter.quiet), labelled(words.search, filter.text), filter.count));
}
