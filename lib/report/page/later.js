// SPDX-License-Identifier: GPL-3.0-or-later
// What is made only when it is asked for or printed. The insides of finds and maps stand in
// <noscript>: a browser without the script shows them, one with it holds them as text that costs
// next to nothing.
function fill(holder) {
  const held = holder?.querySelector("noscript");
  if (held) held.outerHTML = held.textContent;
  return held !== null && held !== undefined;
}

/// What stands on paper: the foremost finds, and maps.
function fillForPaper() {
  for (const holder of document.querySelectorAll("article:not(.lesser), #places figure, #audible figure"))
    fill(holder);
}
window.addEventListener("beforeprint", fillForPaper);

// Maps are made when they come near.
const coming = new IntersectionObserver((seen) => {
  for (const one of seen)
    if (one.isIntersecting && fill(one.target)) coming.unobserve(one.target);
}, { rootMargin: "800px 0px" });
for (const figure of document.querySelectorAll("#places figure, #audible figure")) coming.observe(figure);

// The details of lesser finds of a long night lie in files beside the page, in order.
let partsLoaded = 0, partComing = null;

/// \return a promise of whether one more part came
function loadPart() {
  partComing ??= new Promise((resolve) => {
    if (partsLoaded >= data.parts) return resolve(false);
    window.lullPart = (markup) => {
      document.getElementById("details").insertAdjacentHTML("beforeend", markup);
      ++partsLoaded;
      resolve(true);
    };
    loadScript(`details/part-${String(partsLoaded + 1).padStart(3, "0")}.js`, () => resolve(false));
  }).finally(() => { partComing = null; });
  return partComing;
}

/// The find's own article, once it is there and made; null where the folder has none.
async function articleOf(number) {
  const id = "find-" + number;
  while (!document.getElementById(id) && await loadPart());
  const article = document.getElementById(id);
  fill(article);
  return article;
}
