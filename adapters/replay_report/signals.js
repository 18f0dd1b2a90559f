// What stands out: rules that never fire, fire often, or fire otherwise than before.

const KINDS = {
  stopped: { name: "stopped firing", mark: "stopped", noun: ["that stopped firing", "that stopped firing"] },
  drop: { name: "dropped", mark: "drop", noun: ["drop", "drops"] },
  jump: { name: "jumped", mark: "jump", noun: ["jump", "jumps"] },
  often: { name: "fires often", mark: "often", noun: ["that fires often", "that fire often"] },
  never: { name: "never fires", mark: "never", noun: ["that never fires", "that never fire"] },
};

function allSignals(summary) {
  const order = Object.keys(KINDS);
  return summary.sides.flatMap((side) => (side.signals || []).map((signal) => ({ ...signal, side: sideName(side) })))
    .filter((signal) => KINDS[signal.kind])
    .sort((one, other) => order.indexOf(one.kind) - order.indexOf(other.kind));
}

function signalsSection(summary) {
  const signals = allSignals(summary);
  const explained = paragraph("A rule that falls silent deserves the same look as one that speaks more: the feed, the ",
    "rules or the practice may have changed. A signal is a reason to look, not a finding about anybody.");
  if (!signals.length) return section("signals", "What stands out", paragraph("No rule stood out."), explained);
  return section("signals", "What stands out", paragraph(make("strong", {}, quantity(signals.length, "signal")), ": ",
    signalCounts(signals), "."), explained, table("Signals", signalColumns(summary.sides.length > 1, true), signals,
    { id: "signal-table", filter: signals.length > 8, what: "signal" }));
}

// "2 stopped firing, 1 fires often": by rules and rule sets.
function signalCounts(signals) {
  return listed(Object.keys(KINDS).map((kind) => [kind, signals.filter((signal) => signal.kind === kind).length])
    .filter((pair) => pair[1]).map((pair) => count(pair[1]) + " " + KINDS[pair[0]].noun[pair[1] === 1 ? 0 : 1]));
}

function signalColumns(two, withRule) {
  return [{ head: "Signal", short: true, value: (row) => KINDS[row.kind].name,
    show: (row) => make("strong", {}, KINDS[row.kind].name) },
  withRule && { head: "Rule", value: (row) => row.rule, show: (row) => linkedRules([row.rule]) },
  two && words("Rule set", (row) => row.side),
  { head: "Month", short: true, value: (row) => row.month || "", show: (row) => row.month ? month(row.month) : "whole period" },
  numbers("Share fired", (row) => row.share, { show: (row) => isNumber(row.share) ? percent(row.share) : "" }),
  numbers("Expected", (row) => row.expected, { show: (row) => isNumber(row.expected) ? percent(row.expected) : "" }),
  numbers("Of orders concerned", (row) => row.of, { show: (row) => isNumber(row.of) ? count(row.of) : "" }),
  words("In words", (row) => row.say)].filter(Boolean);
}
