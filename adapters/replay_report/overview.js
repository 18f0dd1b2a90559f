// The first sections: what was read, how the orders came out, and the rule sets that judged them.

const INPUT_KINDS = [
  ["judged", "orders judged", "every share of orders in this report is of these, or says of what else"],
  ["recorded", "recorded", "injections given, stops, cancellations: history, not orders to judge"],
  ["outside", "outside", "no injection: not judged"],
  ["unreadable", "unreadable", "could not be read as an order: not judged"],
  ["repeated", "repeated", "the same message again: judged once"],
  ["merges", "merges", "two patient ids became one"],
  ["warm_up", "warm-up", "from before the first day judged: history only"],
];

const NAME_LENGTH = 60;  // of what is shown at the head; the files have a list of their own

function head(summary) {
  const input = summary.input;
  const files = input.files || [];
  const compared = summary.sides.length > 1;
  return [paragraph(make("strong", {}, count(input.judged) + " orders"), " of ",
    quantity(input.patients, "patient"), input.from && ", received " + period(input), ", judged with ",
    compared ? "two rule sets: before and after." : "one rule set."),
  paragraph("Read from ", files.length ? files.slice(0, 3).flatMap((file, index) =>
    [index ? ", " : "", outside(cut(file, NAME_LENGTH))]) : "no file", files.length > 3 ? " and " + count(files.length - 3) + " more" : "",
  ". Made by ", outside(cut(summary.made_by || "meniscus", NAME_LENGTH)), ".")];
}

function period(input) {
  return day(input.from) + " to " + day(input.to);
}

function patientsSentence(summary) {
  return summary.patients === "shown" ?
    "Patient ids are shown as they stand in the orders: keep and send this file as you keep and send orders." :
    "Patient ids were replaced (patient 1, patient 2, ...); order ids and what the orders say were not.";
}

function inputSection(summary) {
  const input = summary.input;
  const rows = INPUT_KINDS.map(([key, name, meaning]) => ({ name, meaning, orders: input[key] }));
  const columns = [words("Records", (row) => row.name), numbers("Number", (row) => row.orders),
    shares("Share", "all records", (row) => row.orders, () => input.records),
    plainWords("What they are", (row) => row.meaning)];
  return section("input", "What was read",
    table("Records read, by what became of them", columns, rows, { id: "input-table", plain: true,
      total: { name: "all records", meaning: "the sum of the lines above", orders: input.records } }),
    terms([["Received", input.from && period(input)],
      ["History is known from", input.since && day(input.since)], ["Patients", count(input.patients)],
      ["Records without a date of their own", count(input.undated)],
      ["A rule fires often from", isNumber(summary.settings?.often) ? percent(summary.settings.often) +
        " of the judged orders" : ""],
      ["Sample", summary.settings?.sample ? quantity(summary.settings.sample, "order") + ", seed " +
        summary.settings.seed : ""]]),
    (input.files || []).some((file, index) => index === 3 || file.length > NAME_LENGTH) && folded("All files: " + count(input.files.length),
      () => list(input.files.map(outside))));
}

// The report in some sentences.
function shortSection(summary) {
  const signals = allSignals(summary);
  return section("short", "In short", list([
    ...(summary.comparison ? comparedSentences(summary) : [stoppedSentence(summary)]), stoppedMeaning(summary),
    signals.length ? ["Rules that stand out: ", signalCounts(signals), ". ", make("a", { href: "#signals" }, "Which ones")] :
      "No rule stands out.", ...openHistory(summary), ...inputWarnings(summary.input)]));
}

// Why most orders are incomplete where the records begin late.
function openHistory(summary) {
  const since = summary.input.since;
  const rules = summary.sides[summary.sides.length - 1]?.rules || [];
  const open = rules.filter((rule) => (rule.missing || []).some((entry) => entry.what === "history before " + since)).length;
  return since && open ? ["History is known from " + day(since) + " on, and " + quantity(open, "rule") + (open === 1 ? " looks" : " look") +
    " further back: what " + (open === 1 ? "it" : "they") + " could not decide makes orders incomplete. Earlier records (--warm-up), or your word " +
    "that these hold all (--history-since), settle it."] : [];
}

// What is easily taken for judged and was not, each by itself.
function inputWarnings(input) {
  const said = [];
  if (input.unreadable) said.push(quantity(input.unreadable, "record") + " could not be read as an order (" +
    share(input.unreadable, input.records) + " of " + count(input.records) + "). What they hold was not judged.");
  if (input.undated) said.push(quantity(input.undated, "record") + " had no date of " +
    (input.undated === 1 ? "its" : "their") + " own.");
  if (input.repeated) said.push(quantity(input.repeated, "record") + " came again and counted once.");
  if (input.outside) said.push(quantity(input.outside, "record") + " " + (input.outside === 1 ? "was" : "were") +
    " no injection and " + (input.outside === 1 ? "was" : "were") + " not judged.");
  if (input.judged === 0) said.unshift("No order was judged: all numbers below are zero.");
  return said;
}

function outcomesSection(summary) {
  const judged = summary.input.judged;
  const sides = summary.sides;
  const rows = OUTCOMES.map((name) => ({ name, orders: (side) => side.outcomes?.[name] ?? 0 }));
  const columns = [words("Outcome", (row) => row.name, (row) => MEANING[row.name] ? outcome(row.name) : row.name)];
  for (const side of sides) {
    const label = sides.length > 1 ? ", " + sideName(side) : "";
    columns.push(numbers("Orders" + label, (row) => row.orders(side)),
      shares("Share" + label, "judged", (row) => row.orders(side), () => judged));
  }
  columns.push(plainWords("Meaning", (row) => row.meaning ?? MEANING[row.name]));
  const stopped = { name: "stopped", orders: (side) => side.stopped,
    meaning: "of the above: " + stoppedNames(summary, "and") };
  return section("outcomes", "How the orders came out", table("Outcomes of the " + quantity(judged, "judged order"), columns, rows,
    { id: "outcome-table", plain: true, total: stopped }));
}

function stoppedNames(summary, joint) {
  const from = OUTCOMES.indexOf(summary.fail_at);
  return from < 0 ? "outcome " + summary.fail_at + " or graver" : listed(OUTCOMES.slice(from), joint);
}

function stoppedSentence(summary) {
  return make("strong", {}, summary.sides.map((side) => (summary.sides.length > 1 ? upper(sideName(side)) + ": " : "") +
    quantity(side.stopped, "order") + " " + is(side.stopped) + " stopped" +
    ofAll(side.stopped, summary.input.judged) + ".").join(" "));
}

function stoppedMeaning(summary) {
  return "An order counts as stopped when its outcome is " + stoppedNames(summary, "or") + ".";
}

function upper(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function findingsSection(summary) {
  return section("findings", "How much was found in an order", paragraph("Findings that blame the same field are one group: they ",
    "usually have one cause."), summary.sides.map((side) => countsOfFindings(summary, side)),
  summary.sides.map((side) => pairsTable(summary, side)));
}

function countsOfFindings(summary, side) {
  const judged = summary.input.judged;
  const names = ["none", "one", "two", "three or more"];
  const rows = names.map((name, index) => ({ name, findings: side.findings_per_order?.[index],
    groups: side.groups_per_order?.[index] }));
  const of = summary.sides.length > 1 ? ", " + sideName(side) : "";
  return table("Orders by how much was found in them" + of, [plainWords("Number found", (row) => row.name),
    numbers("Orders with so many findings", (row) => row.findings),
    shares("Share", "judged", (row) => row.findings, () => judged),
    numbers("Orders with so many groups", (row) => row.groups),
    shares("Share", "judged", (row) => row.groups, () => judged)], rows, { plain: true });
}

// What both sides share is in the heads of their own; what a side lacks is left out.
function setsSection(summary) {
  return section("sets", "The rule sets", summary.sides.map((side) => [
    summary.sides.length > 1 && make("h3", {}, upper(sideName(side))),
    terms([["Rules of", day(side.rules_day)], ["Rules", count((side.rules || []).length)],
      ["Hash", side.rules_hash && make("code", {}, side.rules_hash)]]),
    changesTable(side), missingTable(side)]));
}

function changesTable(side) {
  if (!side.changes?.length) return paragraph("No local changes were in force.");
  return table("Local changes", [words("Change", (row) => row.what), words("Because", (row) => row.because),
    words("By", (row) => row.by), words("Until", (row) => row.until,
      (row) => day(row.until) + (row.over ? " (over)" : ""))], side.changes);
}

function missingTable(side) {
  if (!side.never_assessed?.length) return undefined;
  return [paragraph("The feed never carries these. The rules that need them checked nothing that rests on them, and no ",
    "order counts as incomplete for it."),
  table("Never in the feed", [words("Field", (row) => row.missing), { head: "Rules that need it",
    value: (row) => (row.rules || []).join(", "), show: (row) => linkedRules(row.rules || []) }], side.never_assessed)];
}

function pairsTable(summary, side) {
  if (!side.pairs?.length) return undefined;
  return table("Rules that found something in the same order, most frequent first" +
    (summary.sides.length > 1 ? ", " + sideName(side) : ""), [
    { head: "Rules", value: (row) => row.rules.join(", "), show: (row) => linkedRules(row.rules) },
    numbers("Orders", (row) => row.orders),
    shares("Share", "judged", (row) => row.orders, () => summary.input.judged)], side.pairs, { filter: side.pairs.length > 8,
    what: "pair" });
}
