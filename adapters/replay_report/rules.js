// All rules in one table and one chart, and the links between a rule's name and its section.

let ruleList = [];

// The rules of all sides by name, in the order of the first side that has them: {name, id, of: {before: RULE, after: RULE}}.
function mergedRules(summary) {
  const byName = new Map();
  for (const side of summary.sides) {
    for (const rule of side.rules || []) {
      if (!byName.has(rule.name)) byName.set(rule.name, { name: rule.name, id: "rule-" + (byName.size + 1), of: {} });
      byName.get(rule.name).of[side.name] = rule;
    }
  }
  for (const compared of summary.comparison?.rules || []) {
    if (byName.has(compared.name)) byName.get(compared.name).compared = compared;
  }
  ruleList = [...byName.values()];
  return ruleList;
}

function whichSides(rule) {
  const names = Object.keys(rule.of);
  return names.length > 1 ? "both" : names[0];
}

function anySide(rule) {
  return Object.values(rule.of)[0];
}

function linkedRules(names) {
  return names.map((name, index) => {
    const rule = ruleList.find((one) => one.name === name);
    const shown = rule ? make("a", { href: "#" + rule.id }, outside(name)) : outside(name);
    return [index ? ", " : "", shown];
  });
}

function fired(rule, side) {
  return rule.of[side.name]?.fired;
}

function rulesSection(summary, rules) {
  if (!rules.length) return section("rules", "Rules", paragraph("The summary lists no rule."));
  return section("rules", "Rules", paragraph("A share of fired orders is of the orders that the rule concerns; built-in rules look ",
    "at every record and have none. ", make("em", {}, "Changed after"), " counts the fired orders that a later message changed, ",
    "stopped or cancelled: a hint that the finding was acted on, no proof."),
  rulesFigure(summary, rules, table("All rules", ruleColumns(summary), rules, { id: "rule-table", filter: true, what: "rule" })));
}

function ruleColumns(summary) {
  const two = summary.sides.length > 1;
  const columns = [{ head: "Rule", value: (rule) => rule.name, show: (rule) => [linkedRules([rule.name]), kindOf(rule)] }];
  if (two) columns.push(plainWords("In", whichSides, { short: true }));
  for (const side of summary.sides) columns.push(...columnsOf(side, two));
  if (summary.comparison) {
    columns.push(numbers("Newly", (rule) => rule.compared?.newly, { show: orBlank((rule) => rule.compared?.newly) }),
      numbers("Gone", (rule) => rule.compared?.gone, { show: orBlank((rule) => rule.compared?.gone) }));
  }
  return columns;
}

function columnsOf(side, two) {
  const label = two ? ", " + sideName(side) : "";
  const own = (key) => (rule) => rule.of[side.name]?.[key];
  const number = (head, key) => numbers(head + label, own(key), { show: orBlank(own(key)) });
  const columns = [number("Concerned", "concerned"), number("Fired", "fired"),
    shares("Share" + label, "concerned", own("fired"), own("concerned")), number("Not assessed", "not_assessed")];
  return two ? columns : columns.concat([number("Muted", "muted"), number("Changed after", "changed_after"),
    shares("Share", "fired", own("changed_after"), own("fired"))]);
}

function orBlank(value) {
  return (rule) => value(rule) === undefined ? "" : count(value(rule));
}

function kindOf(rule) {
  const one = anySide(rule);
  if (one.trial) return make("small", { class: "kind" }, " on trial");
  return one.built_in ? make("small", { class: "kind" }, " built in") : undefined;
}

const MOST_DRAWN = 20;

function rulesFigure(summary, rules, numbersTable) {
  const most = (rule) => Math.max(...summary.sides.map((side) => fired(rule, side) ?? 0));
  const drawn = rules.filter((rule) => most(rule) > 0).sort((one, other) => most(other) - most(one)).slice(0, MOST_DRAWN);
  if (!drawn.length) return [paragraph("No rule fired."), numbersTable];
  const two = summary.sides.length > 1;
  const config = () => ({ type: "bar", data: { labels: drawn.map((rule) => cut(rule.name, 32)),
    datasets: summary.sides.map((side) => ({ label: sideName(side), data: drawn.map((rule) => fired(rule, side) ?? 0),
      side, ...bars(two ? side.name : "after") })) },
  options: { indexAxis: "y", layout: { padding: { right: 110 } }, plugins: { legend: legend(two),
    tooltip: tooltip((set, place) => set.label + ": " + firedOf(drawn[place].of[set.side.name])) },
  scales: { x: countAxis("orders in which the rule found something", { grid: { display: false } }), y: { grid: { display: false }, ticks: { autoSkip: false } } } },
  plugins: [barLabels((set, place) => count(set.data[place]) + "  " +
    share(set.data[place], drawn[place].of[set.side.name]?.concerned))] });
  return figure("Rules by orders fired" + (drawn.length === MOST_DRAWN ? ", the " + MOST_DRAWN + " with most" : "") +
    ". Beside each bar: the orders, and their share of the orders that the rule concerns.",
  (two ? 42 : 26) * drawn.length + 90, config, numbersTable);
}

// "400 (4 % of 10,000 concerned)"; a rule on trial shows nothing, so what it found is said.
function firedOf(rule) {
  if (!rule) return "not in this rule set";
  if (rule.trial) return "on trial, found in " + countOf(rule.trial_found, rule.concerned) + " and not shown";
  const fraction = share(rule.fired, rule.concerned);
  return count(rule.fired) + (fraction ? " (" + fraction + " of " + count(rule.concerned) + " concerned)" : "");
}
