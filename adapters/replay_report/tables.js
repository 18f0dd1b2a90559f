// Tables whose columns sort and whose rows can be filtered.
//
// A column is {head, of, value(row), show(row), number, short}: `of` says what a share is of, `value` is what is sorted by,
// `show` what stands there (without it: the value), and a `short` column is not broken into lines.

let tablesMade = 0;

function cellOf(column, row, first) {
  const value = column.value(row);
  const shown = column.show ? column.show(row) : column.number ? count(value) : outside(value ?? "");
  const cell = make(first ? "th" : "td", { scope: first ? "row" : undefined, class: classOf(column),
    "data-value": isNumber(value) ? value : undefined }, shown);
  return cell;
}

function classOf(column) {
  return column.number ? "number" : column.short ? "short" : undefined;
}

function compareValues(one, other) {
  if (isNumber(one) && isNumber(other)) return one - other;
  return String(one).localeCompare(String(other), "en", { numeric: true });
}

// What has no value stands last, whichever way is sorted.
function compareRows(one, other, direction) {
  const missing = (one === undefined || one === "") - (other === undefined || other === "");
  return missing || direction * compareValues(one, other);
}

function sortBy(state, column, head) {
  const now = head.getAttribute("aria-sort");
  const ascending = now ? now === "descending" : !column.number;
  for (const other of state.heads) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", ascending ? "ascending" : "descending");
  const direction = ascending ? 1 : -1;
  state.lines.sort((one, other) =>
    compareRows(column.value(one.row), column.value(other.row), direction) || one.index - other.index);
  state.body.append(...state.lines.map((line) => line.element));
}

function headOf(state, column, sortable) {
  const label = [column.head, column.of ? make("small", {}, " of " + column.of) : ""];
  const head = make("th", { scope: "col", class: classOf(column) });
  if (!sortable) return add(head, label);
  const button = make("button", { type: "button" }, label);
  button.addEventListener("click", () => sortBy(state, column, head));
  return add(head, button);
}

function filterOf(state, what) {
  const field = make("input", { type: "search", id: state.id + "-filter", autocomplete: "off" });
  const said = make("output", { for: state.id + "-filter" }, quantity(state.lines.length, what));
  field.addEventListener("input", () => {
    const wanted = field.value.trim().toLowerCase();
    let shown = 0;
    for (const line of state.lines) {
      line.element.hidden = !line.element.textContent.toLowerCase().includes(wanted);
      if (!line.element.hidden) shown += 1;
    }
    said.textContent = wanted ? count(shown) + " of " + quantity(state.lines.length, what) + " shown, filtered" :
      quantity(state.lines.length, what);
  });
  return make("p", { class: "filter" }, make("label", { for: state.id + "-filter" }, "Filter"), field, said);
}

// options: id, what (a row, in the singular), filter, plain (does not sort), total (a last row that stays last)
function table(caption, columns, rows, options = {}) {
  tablesMade += 1;
  const state = { id: options.id || "table-" + tablesMade, body: make("tbody"), heads: [] };
  state.lines = rows.map((row, index) => ({ row, index, element: make("tr", {},
    columns.map((column, place) => cellOf(column, row, place === 0))) }));
  const sortable = !options.plain && rows.length > 1;
  state.heads = columns.map((column) => headOf(state, column, sortable));
  add(state.body, state.lines.map((line) => line.element));
  const foot = options.total && make("tfoot", {}, make("tr", {},
    columns.map((column, place) => cellOf(column, options.total, place === 0))));
  const made = make("table", { id: state.id }, make("caption", {}, caption),
    make("thead", {}, make("tr", {}, state.heads)), state.body, foot);
  return make("div", { class: "table" }, options.filter && filterOf(state, options.what || "row"),
    make("div", { class: "wide", tabindex: columns.length > 6 ? 0 : undefined, role: columns.length > 6 ? "region" : undefined,
      "aria-label": columns.length > 6 ? caption : undefined }, made));
}

function numbers(head, value, more = {}) {
  return { head, number: true, value, ...more };
}

function shares(head, of, part, whole) {
  return { head, of, number: true, value: (row) => fractionOf(part(row), whole(row)),
    show: (row) => share(part(row), whole(row)) };
}

function words(head, value, show) {
  return { head, value, show };
}

// Words of our own: they need no direction of their own.
function plainWords(head, value, more = {}) {
  return { head, value, show: value, ...more };
}

function monthColumn(value = (row) => row.month) {
  return { head: "Month", value, show: (row) => month(value(row)), short: true };
}
