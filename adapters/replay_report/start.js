// Reads the summary, fills the page, and opens what a link or print wants to see.

function fail(main, message) {
  main.prepend(make("p", { class: "failure", role: "alert" }, message));
}

function start() {
  const main = document.getElementById("main");
  let summary;
  try {
    summary = JSON.parse(document.getElementById("summary").textContent);
  } catch {
    return fail(main, "The data in this file cannot be read: it was cut off or changed.");
  }
  if (summary?.replay !== 1 || !summary.input || !Array.isArray(summary.sides)) {
    return fail(main, "The data in this file are no summary of a replay of version 1.");
  }
  fill(main, summary);
  openLinked();
  addEventListener("hashchange", openLinked);
  document.addEventListener("click", openClicked);
  addEventListener("beforeprint", () => openAll("printed"));
  addEventListener("afterprint", closePrinted);
  document.getElementById("open-all").addEventListener("click", () => openAll(""));
  document.getElementById("close-all").addEventListener("click", closeAll);
}

function fill(main, summary) {
  const rules = mergedRules(summary);
  add(document.getElementById("head"), head(summary));
  add(document.getElementById("patients"), patientsSentence(summary));
  add(main, shortSection(summary), inputSection(summary), outcomesSection(summary), signalsSection(summary),
    comparisonSection(summary), monthsSection(summary), rulesSection(summary, rules), findingsSection(summary),
    setsSection(summary), ruleSections(summary, rules));
  drawWaiting();
}

function openLinked() {
  const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!target) return;
  reveal(target);
  target.scrollIntoView();
}

// A link to where the page already stands changes no address.
function openClicked(event) {
  const link = event.target.closest?.("a[href^='#']");
  const target = link && document.getElementById(link.getAttribute("href").slice(1));
  if (target) reveal(target);
}

// Sections that open hold sections of their own, so it goes on until none is closed.
function openAll(mark) {
  for (let closed = closedSections(); closed.length; closed = closedSections()) {
    for (const details of closed) {
      if (mark) details.dataset.openedFor = mark;
      reveal(details);
    }
  }
}

function closedSections() {
  return [...document.querySelectorAll("main details:not([open])")];
}

function closePrinted() {
  for (const details of document.querySelectorAll("details[data-opened-for]")) {
    details.open = false;
    delete details.dataset.openedFor;
  }
}

function closeAll() {
  for (const details of document.querySelectorAll("main details[open]")) details.open = false;
}

start();
