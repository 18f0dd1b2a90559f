// What another rule set would have changed: in sentences, by class, by outcome, by month.

const CLASSES = {
  newly_stopped: ["newly stopped", "not stopped before, stopped after"],
  no_longer_stopped: ["no longer stopped", "stopped before, not stopped after"],
  graver: ["graver", "a graver outcome, and stopped either with both or with neither"],
  milder: ["milder", "a milder outcome, and stopped either with both or with neither"],
  other_reason: ["other reason", "the same outcome from other findings"],
};

function comparisonSection(summary) {
  const compared = summary.comparison;
  if (!compared) return undefined;
  return section("comparison", "Before and after", paragraph(stoppedSentence(summary)), classFigure(compared),
    turnsTable(compared), comparedMonths(compared), make("h3", {}, "Examples"), Object.keys(CLASSES).map((key) =>
      examplesOf(upper(CLASSES[key][0]) + ": " + quantity(compared[key], "order"), compared.examples?.[key])));
}

function comparedSentences(summary) {
  const compared = summary.comparison;
  const [before, after] = summary.sides;
  const of = (part) => ofAll(part, compared.orders);
  return [
    "Both rule sets judged the same " + quantity(compared.orders, "order") + ".",
    make("strong", {}, "With the new rules " + quantity(compared.newly_stopped, "more order") + " " +
      is(compared.newly_stopped) + " stopped" + of(compared.newly_stopped) + ", and " +
      count(compared.no_longer_stopped) + " " + is(compared.no_longer_stopped) + " no longer stopped" +
      of(compared.no_longer_stopped) + "."),
    "In all, " + count(after.stopped) + of(after.stopped) + " " + is(after.stopped) + " stopped with the new rules and " +
      count(before.stopped) + of(before.stopped) + " with the old ones.",
    "Without a change in whether they are stopped, " + count(compared.graver) + of(compared.graver) +
      " get a graver outcome and " + count(compared.milder) + of(compared.milder) + " a milder one.",
    count(compared.other_reason) + of(compared.other_reason) +
      " have the same outcome for other reasons, and " + count(compared.same) + of(compared.same) +
      " come out the same in all.",
  ];
}

function classFigure(compared) {
  const keys = Object.keys(CLASSES);
  const rows = keys.map((key) => ({ name: CLASSES[key][0], meaning: CLASSES[key][1], orders: compared[key] }));
  rows.push({ name: "the same", meaning: "the same outcome from the same findings", orders: compared.same });
  const numbersTable = table("Orders by what changes", [plainWords("Change", (row) => row.name, { short: true }),
    numbers("Orders", (row) => row.orders), shares("Share", "compared", (row) => row.orders, () => compared.orders),
    plainWords("Meaning", (row) => row.meaning)], rows, { id: "class-table", plain: true,
    total: { name: "all compared", meaning: "", orders: compared.orders } });
  const config = () => ({ type: "bar", data: { labels: keys.map((key) => CLASSES[key][0]), datasets: [{
    data: keys.map((key) => compared[key]), ...stylesOf(keys) }] },
  options: { indexAxis: "y", layout: { padding: { right: 120 } }, plugins: { legend: legend(false),
    tooltip: tooltip((set, place) => countOf(set.data[place], compared.orders)) },
  scales: { x: countAxis("orders", { grid: { display: false } }), y: { grid: { display: false } } } },
  plugins: [barLabels((set, place) => count(set.data[place]) + "  " + share(set.data[place], compared.orders))] });
  return figure("Orders whose judgement changes, of the " + count(compared.orders) + " compared; the " +
    count(compared.same) + " that stay the same are not drawn.", 230, config, numbersTable);
}

// One style a bar.
function stylesOf(keys) {
  const styles = keys.map(bars);
  return { backgroundColor: styles.map((style) => style.backgroundColor),
    borderColor: styles.map((style) => style.borderColor), borderWidth: 1 };
}

// Outcome before by outcome after; the diagonal is what stays.
function turnsTable(compared) {
  const at = (before, after) => (compared.outcomes || [])
    .filter((pair) => pair.before === before && pair.after === after).reduce((sum, pair) => sum + pair.orders, 0);
  const columns = [words("Before \\ after", (row) => row, outcome)].concat(
    OUTCOMES.map((after) => ({ head: after, number: true, value: (before) => at(before, after),
      show: (before) => make("span", { class: before === after ? "stays" : at(before, after) ? undefined : "none" },
        count(at(before, after))) })));
  return [paragraph("Each number below counts the orders that had the outcome of its row before and that of its column ",
    "after. What stays is underlined; right of it an order comes out graver, left of it milder."),
  table("Outcome before and after, orders", columns, OUTCOMES, { id: "turns-table", plain: true })];
}

function comparedMonths(compared) {
  const months = compared.months || [];
  if (!months.length) return undefined;
  const columns = [monthColumn(),
    numbers("Compared", (row) => row.orders)].concat(Object.keys(CLASSES).flatMap((key) => [
    numbers(upper(CLASSES[key][0]), (row) => row[key]),
    key.endsWith("stopped") && shares("Share", "compared", (row) => row[key], (row) => row.orders)].filter(Boolean)));
  const config = () => ({ type: "bar", data: { labels: months.map((row) => month(row.month, true)), datasets: [
    { label: "newly stopped", data: months.map((row) => row.newly_stopped), stack: "one", ...bars("newly_stopped") },
    { label: "no longer stopped", data: months.map((row) => -row.no_longer_stopped), stack: "one",
      ...bars("no_longer_stopped") }] },
  options: { plugins: { legend: legend(), tooltip: tooltip((set, place) => set.label + ": " +
    countOf(Math.abs(set.data[place]), months[place].orders)) },
  scales: { x: monthAxis({ stacked: true }), y: countAxis("orders", { stacked: true }) } } });
  return figure("Newly stopped orders (upwards) and those no longer stopped (downwards), by month.", 260, config,
    table("What changes, by month", columns, months, { id: "compared-months-table" }));
}
