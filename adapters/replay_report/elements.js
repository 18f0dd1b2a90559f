// Parts of the page.  Texts become text nodes and never markup.

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === false) continue;
    element.setAttribute(name, value === true ? "" : String(value));
  }
  add(element, ...children);
  return element;
}

function add(element, ...children) {
  for (const child of children.flat(3)) {
    if (child === undefined || child === null || child === false || child === "") continue;
    element.append(child instanceof Node ? child : document.createTextNode(visible(child)));
  }
  return element;
}

// A text from outside: its direction of writing stays its own matter.
function outside(text) {
  return make("bdi", {}, text);
}

function paragraph(...children) {
  return make("p", {}, ...children);
}

function list(items) {
  return make("ul", {}, items.map((item) => make("li", {}, item)));
}

// A section of the page with a line in the contents.
function section(id, title, ...children) {
  document.getElementById("contents").append(make("li", {}, make("a", { href: "#" + id }, title)));
  return make("section", { id, "aria-labelledby": id + "-title" }, make("h2", { id: id + "-title" }, title),
    ...children);
}

// What is drawn or made only when its section opens; a year's rules would be too much at once.
const waiting = new WeakMap();

function folded(summary, fill, attributes = {}) {
  const details = make("details", attributes, make("summary", {}, summary));
  waiting.set(details, fill);
  details.addEventListener("toggle", () => { if (details.open) filled(details); });
  return details;
}

function filled(details) {
  const fill = waiting.get(details);
  if (!fill) return;
  waiting.delete(details);
  add(details, fill());
  drawWaiting();
}

// Opens whatever hides the element.
function reveal(element) {
  for (let at = element; at; at = at.parentElement) {
    if (at.tagName === "DETAILS") {
      at.open = true;
      filled(at);
    }
  }
}

function outcome(name) {
  return make("span", { class: "outcome", title: MEANING[name] }, name);
}

function terms(pairs) {
  return make("dl", {}, pairs.filter((pair) => pair[1] !== undefined && pair[1] !== "").map((pair) =>
    make("div", {}, make("dt", {}, pair[0]), make("dd", {}, pair[1]))));
}
