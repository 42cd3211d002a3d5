// SPDX-License-Identifier: GPL-3.0-or-later
// What is made only when it comes near. The insides of events and maps stand in <noscript>: a browser
// without the script shows them, one with it holds them as text that costs next to nothing. They are
// made when they are a screen or two away, asked for, or printed; the rest while the browser has
// nothing else to do, so that its search finds all of the page soon after it has opened.
const unmade = new Map();
const coming = new IntersectionObserver((seen) => {
  for (const one of seen) if (one.isIntersecting) fill(one.target);
}, { rootMargin: "1200px 0px" });
const whenIdle = window.requestIdleCallback?.bind(window) ??
  ((act) => setTimeout(() => act({ timeRemaining: () => 10 }), 30));

/// Makes what an element holds; once made it stays.
function fill(holder) {
  const then = unmade.get(holder);
  if (!then) return;
  unmade.delete(holder);
  coming.unobserve(holder);
  const held = holder.querySelector("noscript");
  if (held) held.outerHTML = held.textContent;
  then(holder);
}

function later(holder, then = () => {}) {
  if (unmade.size === 0) whenIdle(fillWhileIdle);
  unmade.set(holder, then);
  coming.observe(holder);
}

function fillWhileIdle(idle) {
  for (const holder of unmade.keys()) {
    fill(holder);
    if (idle.timeRemaining() < 8) break;
  }
  if (unmade.size > 0) whenIdle(fillWhileIdle);
}

/// The events that paper shows, maps, and the time line as it is printed.
function fillForPaper() {
  for (const holder of [...unmade.keys()]) if (!holder.matches(".lesser")) fill(holder);
  const held = document.querySelector("#time-line > noscript");
  if (held) held.outerHTML = held.textContent;
}
window.addEventListener("beforeprint", fillForPaper);

// The details of lesser events of a long night lie in files beside the page, in order.
let partsLoaded = 0, partComing = null;
const moreButton = make("button", { type: "button", id: "more", onclick: () => loadPart() }, words.more);
const moreStatus = make("output", { role: "status" });

/// \return a promise of whether one more part came
function loadPart() {
  partComing ??= new Promise((resolve) => {
    if (partsLoaded >= data.parts) return resolve(false);
    window.lullPart = (markup) => {
      moreButton.insertAdjacentHTML("beforebegin", markup);
      addArticles();
      if (document.getElementById("time-line")) drawTimeLine();
      moreButton.hidden = ++partsLoaded >= data.parts;
      moreStatus.value = "";
      resolve(true);
    };
    loadScript(`details/part-${String(partsLoaded + 1).padStart(3, "0")}.js`, () => {
      moreStatus.value = words.no_details;
      resolve(false);
    });
  }).finally(() => { partComing = null; });
  return partComing;
}

/// Goes to what a link names, once it is there and made.
async function goToNamed(id) {
  while (id.startsWith("event-") && !document.getElementById(id) && await loadPart());
  const target = document.getElementById(id);
  if (!target) return;
  fill(target);
  target.scrollIntoView({ block: "start" });
  if (target.hasAttribute("tabindex")) target.focus({ preventScroll: true });
}

document.addEventListener("click", (at) => {
  const link = at.target.closest?.("a[href^='#']");
  if (!link || at.ctrlKey || at.metaKey || at.shiftKey) return;
  const id = link.getAttribute("href").slice(1), target = document.getElementById(id);
  if (target) fill(target); // the browser goes there
  else goToNamed(id);
});
