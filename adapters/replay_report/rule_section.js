// A section a rule: opened by a link, a click, or for print.

function ruleSections(summary, rules) {
  if (!rules.length) return undefined;
  return section("each-rule", "Each rule", paragraph("Open a rule for its clauses, what was missing, its months and examples."),
    rules.map((rule) => folded(ruleSummary(summary, rule), () => ruleBody(summary, rule), { id: rule.id, class: "rule" })));
}

function ruleSummary(summary, rule) {
  const one = anySide(rule);
  const said = summary.sides.length > 1 ?
    "fired: " + summary.sides.map((side) => sideName(side) + " " + firedOf(rule.of[side.name])).join(", ") : (one.trial ? "" : "fired ") + firedOf(one);
  return [make("h3", {}, outside(rule.name), kindOf(rule)), make("span", { class: "title" }, outside(one.title ?? "")), " ",
    make("span", { class: "figures" }, said)];
}

function ruleBody(summary, rule) {
  const one = anySide(rule);
  const signals = allSignals(summary).filter((signal) => signal.rule === rule.name);
  const sides = summary.sides.filter((side) => rule.of[side.name]);
  const two = summary.sides.length > 1;
  const rows = (key) => sides.flatMap((side) => (rule.of[side.name][key] || []).map((row) =>
    ({ ...row, side: sideName(side), rule: rule.of[side.name] })));
  return [terms([["Source", outside(one.cite || UNKNOWN)], ["Owner", outside(one.owner || UNKNOWN)],
    ["In", two ? whichSides(rule) === "both" ? "both rule sets" : "only " + whichSides(rule) : undefined],
    ["Kind", one.built_in ? "built in: part of the program, not of the rule files" :
      one.trial ? "on trial: counted, never shown to those who work with the orders" : undefined]]),
  signals.length ? table("What stands out in this rule", signalColumns(two, false), signals) : undefined,
  ruleNumbers(rule, sides), comparedNumbers(rule.compared), clausesTable(rows("fired_by"), two),
  lacksTable(rows("missing"), two), ruleMonths(rule, sides, signals), sides.map((side) => labels(rule.of[side.name], side, two)),
  two ? examplesOf("Examples of what changes", rule.compared?.examples) : undefined,
  sides.map((side) => examplesOf("Examples" + (two ? ", " + sideName(side) : ""), rule.of[side.name].examples))];
}

const RULE_NUMBERS = [
  ["concerned", "concerned", "orders that the rule is about", undefined],
  ["fired", "fired", "orders with at least one finding of the rule", "concerned"],
  ["not_assessed", "not assessed", "orders for which a part of the rule could not be checked", "concerned"],
  ["muted", "muted", "found, and hidden by a local change", "concerned"],
  ["trial_found", "found on trial", "found, and not shown, as the rule is on trial", "concerned"],
  ["answered", "answered", "found, and hidden as somebody had answered the question", "concerned"],
  ["changed_after", "changed after", "fired, and a later message changed, stopped or cancelled the order", "fired"],
];

function ruleNumbers(rule, sides) {
  const rows = RULE_NUMBERS.map(([key, name, meaning, of]) => ({ key, name, meaning, of }));
  const columns = [plainWords("Orders", (row) => row.name, { short: true })];
  for (const side of sides) {
    const own = rule.of[side.name];
    const label = sides.length > 1 ? ", " + sideName(side) : "";
    columns.push(numbers("Number" + label, (row) => own[row.key], { show: (row) => own[row.key] === undefined ? "" : count(own[row.key]) }),
      { head: "Share" + label, number: true, value: (row) => fractionOf(own[row.key], own[row.of]),
        show: (row) => share(own[row.key], own[row.of]) && share(own[row.key], own[row.of]) + " of " + row.of });
  }
  columns.push(plainWords("Meaning", (row) => row.meaning));
  return table("Orders, by what the rule did", columns, rows.filter((row) =>
    sides.some((side) => says(rule.of[side.name], row.key))), { plain: true });
}

// Only a rule on trial finds on trial; elsewhere the zero would be noise.
function says(rule, key) {
  return rule[key] !== undefined && (key !== "trial_found" || rule.trial || rule[key] > 0);
}

function comparedNumbers(compared) {
  if (!compared) return undefined;
  const rows = [["same", "found by both, alike"], ["newly", "found after, not before"], ["gone", "found before, not after"],
    ["graver", "found by both, graver after"], ["milder", "found by both, milder after"]]
    .map(([key, meaning]) => ({ key, meaning, orders: compared[key] }));
  const all = rows.reduce((sum, row) => sum + (row.orders ?? 0), 0);
  return table("Before and after, of the " + quantity(all, "order") + " in which either found something", [plainWords("Change",
    (row) => row.key), numbers("Orders", (row) => row.orders), shares("Share", "found by either", (row) => row.orders, () => all),
  plainWords("Meaning", (row) => row.meaning)], rows, { plain: true });
}

function sideColumn(two) {
  return two ? [words("Rule set", (row) => row.side)] : [];
}

function clausesTable(rows, two) {
  if (!rows.length) return undefined;
  const name = (row) => row.without !== undefined ? "without, number " + row.without : "clause " + row.clause;
  return table("Which clauses fired; an order in which two of them did counts in both", [plainWords("Clause", name, { short: true }),
    words("Grade", (row) => row.grade, (row) => outcome(row.grade)), ...sideColumn(two), numbers("Orders", (row) => row.orders),
    shares("Share", "fired", (row) => row.orders, (row) => row.rule.fired)], rows);
}

function lacksTable(rows, two) {
  if (!rows.length) return undefined;
  return table("What was missing where the rule was not assessed", [words("Missing", (row) => row.what), ...sideColumn(two),
    numbers("Orders", (row) => row.orders), shares("Share", "not assessed", (row) => row.orders, (row) => row.rule.not_assessed)],
  rows);
}

// Fired by month: as a share of the orders concerned, or in numbers for a rule that has no such orders.
function ruleMonths(rule, sides, signals) {
  const months = [...new Set(sides.flatMap((side) => (rule.of[side.name].months || []).map((row) => row.month)))].sort();
  if (!months.length) return undefined;
  const at = (side, name) => (rule.of[side.name].months || []).find((row) => row.month === name);
  const asShare = sides.some((side) => rule.of[side.name].concerned !== undefined);
  const columns = [monthColumn((name) => name)];
  for (const side of sides) columns.push(...monthColumns((name) => at(side, name), sides.length > 1 ? ", " + sideName(side) : "", asShare));
  const numbersTable = table("By month", columns, months);
  if (!sides.some((side) => rule.of[side.name].fired > 0)) return numbersTable;
  const value = (row) => asShare ? fractionOf(row?.fired, row?.concerned) ?? null : row?.fired ?? null;
  const marked = signals.filter((signal) => months.includes(signal.month));
  const say = (set, place) => set.label + ": " + (asShare ? countOf(at(set.side, months[place])?.fired,
    at(set.side, months[place])?.concerned) : count(set.data[place]));
  const config = () => ({ type: "line", data: { labels: months.map((name) => month(name, true)), datasets: sides.map((side) =>
    ({ label: sideName(side), side, data: months.map((name) => value(at(side, name))), ...line(side.name === "before") })) },
  options: { layout: { padding: { top: 24, bottom: sides.length > 1 ? 28 : 0 } },
    plugins: { legend: legend(false), tooltip: tooltip(say) }, scales: { x: monthAxis(),
    y: asShare ? percentAxis("of the orders concerned") : countAxis("orders") } }, plugins: [pointLabels(marked, months), sides.length > 1 ? lineKeys() : {}] });
  return figure(asShare ? "Share of fired orders by month, of the orders that the rule concerned in the month." :
    "Fired orders by month.", 220, config, numbersTable);
}

function monthColumns(at, label, asShare) {
  const number = (head, key) => numbers(head + label, (name) => at(name)?.[key],
    { show: (name) => at(name)?.[key] === undefined ? "" : count(at(name)[key]) });
  return [asShare && number("Concerned", "concerned"), number("Fired", "fired"), asShare && shares("Share" + label, "concerned",
    (name) => at(name)?.fired, (name) => at(name)?.concerned), number("Not assessed", "not_assessed")].filter(Boolean);
}

function interval(values) {
  return values ? percent(values[0]) + " (95 % interval: " + percent(values[1]) + " to " + percent(values[2]) + ")" : UNKNOWN;
}

// What people said who read a sample.
function labels(rule, side, two) {
  const read = rule.labels;
  if (!read) return undefined;
  return make("div", {}, make("h4", {}, "What readers said" + (two ? ", " + sideName(side) : "")), list([
    "Of " + quantity(read.fired_read, "fired order") + " that were read, the rule was right in " + count(read.fired_right) + ": " +
      interval(read.ppv) + ".",
    "Of " + quantity(read.silent_read, "order") + " that were read and in which the rule was silent, it should have spoken in " +
      count(read.silent_missed) + ": " + interval(read.missed_share) + ".",
    read.agreement && "Two people read " + count(read.agreement.both_read) + " of them and said the same of " +
      count(read.agreement.same) + (isNumber(read.agreement.kappa) ? " (kappa " + read.agreement.kappa + ")" : "") + ".",
  ].filter(Boolean)));
}
