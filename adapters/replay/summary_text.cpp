// Contract: see summary_text.hpp.
#include "adapters/replay/summary_text.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <numeric>
#include <optional>
#include <vector>

#include "adapters/replay/signals.hpp"
#include "adapters/report/output.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::replay {

namespace {
using engine::format_day;

std::string left(std::string text, std::size_t width) {
  if (text.size() < width) text.append(width - text.size(), ' ');
  return text;
}

std::string right(const std::string& text, std::size_t width) {
  return text.size() < width ? std::string(width - text.size(), ' ') + text : text;
}

std::string share(Count part, Count all) {
  return all == 0 ? "-" : percent(static_cast<double>(part) / static_cast<double>(all));
}

std::string line(const std::string& what, Count count, const std::string& note = {}) {
  std::string text = "  " + left(what, 20) + right(grouped(count), 12);
  if (!note.empty()) text += "   " + note;
  return text + "\n";
}

/// How many rules were not assessed for some order because history begins too late.
Count rules_open_before(const SideTally& side, const std::string& since) {
  return static_cast<Count>(std::ranges::count_if(side.rules, [&](const RuleTally& rule) {
    return rule.missing.contains("history before " + since);
  }));
}

void append_input(std::string& out, const Summary& summary) {
  const InputTally& input = summary.tally.input;
  out += "Replay of " + grouped(input.records()) + " records";
  if (input.from)
    out += ", judged from " + format_day(*input.from) + " to " + format_day(*input.to);
  out += "\n\n";
  out += line("judged", input.judged,
              "orders of " + grouped(input.patients) +
                  (input.patients == 1 ? " patient" : " patients") + " in all");
  out += line("recorded", input.recorded, "given, stopped or cancelled: history");
  out += line("outside", input.outside, "no injection");
  out += line("unreadable", input.unreadable);
  out += line("repeated", input.repeated, "the same again, not judged twice");
  if (input.merges > 0) out += line("merges of patients", input.merges);
  if (input.warm_up > 0) out += line("warm-up", input.warm_up, "remembered, not judged");
  if (input.undated > 0) out += line("of these undated", input.undated, "judged as of today");
  for (const std::string& sentence : summary.head.unopened)
    out += "  not read: " + sentence + "\n";
  if (!summary.head.since) return;
  const std::string since = format_day(*summary.head.since);
  out += "  History is known from " + since + " on.\n";
  const Count open = rules_open_before(summary.tally.sides.back(), since);
  if (open > 0)
    out += "  " + std::to_string(open) +
           " rules look further back than that; name earlier records "
           "with --warm-up,\n  or say with --history-since how far back these files hold all.\n";
}

void append_outcomes(std::string& out, const Summary& summary) {
  const Count judged = summary.tally.input.judged;
  out += "\nOutcomes, and their shares of the " + grouped(judged) + " judged orders\n\n";
  out += "  " + left("", 14);
  for (const SideInfo& side : summary.head.sides)
    out += right(side.name, 22);
  out += "\n";
  const auto row = [&](std::string_view name, auto count_of) {
    out += "  " + left(std::string(name), 14);
    for (const SideTally& side : summary.tally.sides)
      out += right(grouped(count_of(side)) + right(share(count_of(side), judged), 10), 22);
    out += "\n";
  };
  for (std::size_t i = 0; i < kOutcomes; ++i)
    row(engine::name(static_cast<engine::Outcome>(i)),
        [i](const SideTally& side) { return side.outcomes.at(i); });
  row("stopped", [](const SideTally& side) { return side.stopped; });
  out += "\n  Stopped: at or above `" + std::string(engine::name(summary.head.fail_at)) + "`.\n";
}

void append_comparison(std::string& out, const Summary& summary) {
  const ComparisonTally& counts = *summary.tally.comparison;
  const Count orders = std::accumulate(counts.shifts.begin(), counts.shifts.end(), Count{0});
  constexpr std::array<std::string_view, kShifts> kWords = {
      "the same", "newly stopped", "no longer stopped", "graver", "milder", "for other reasons"};
  out += "\nBefore and after, and their shares of " + grouped(orders) + " orders\n\n";
  for (std::size_t i = 1; i <= kShifts; ++i) {
    const std::size_t shift = i % kShifts;
    out += line(std::string(kWords.at(shift)), counts.shifts.at(shift),
                share(counts.shifts.at(shift), orders));
  }
  if (counts.outside_of_one > 0)
    out += line("outside of one", counts.outside_of_one, "no injection to one set of rules");
  std::string rules;
  for (std::size_t i = 0; i < counts.rules.size(); ++i) {
    const RuleShift& rule = counts.rules[i];
    if (rule.newly + rule.gone + rule.graver + rule.milder == 0) continue;
    rules += "  " + left(summary.head.all_rules[i], 34) + right(grouped(rule.newly), 9) +
             right(grouped(rule.gone), 9) + right(grouped(rule.graver), 9) +
             right(grouped(rule.milder), 9) + right(grouped(rule.same), 9) + "\n";
  }
  if (rules.empty()) return;
  out += "\n  " + left("rule, by orders", 34) + right("newly", 9) + right("gone", 9) +
         right("graver", 9) + right("milder", 9) + right("same", 9) + "\n" + rules;
}

void append_rules(std::string& out, const SideInfo& info, const SideTally& side, bool named) {
  out += "\nRules";
  if (named) out += ", " + info.name;
  out += "; shares of the orders that a rule concerned\n\n  " + left("rule", 34) +
         right("concerned", 11) + right("fired", 18) + right("not assessed", 14) +
         right("changed after", 15) + "\n";
  for (std::size_t i = 0; i < info.rules.size(); ++i) {
    const RuleTally& rule = side.rules[i];
    if (info.rules[i].built_in && rule.fired == 0) continue;
    const std::string concerned = info.rules[i].built_in ? "-" : grouped(rule.concerned);
    out += "  " + left(info.rules[i].name, 34) + right(concerned, 11) +
           right(grouped(rule.fired) + right(share(rule.fired, rule.concerned), 9), 18) +
           right(grouped(rule.not_assessed), 14) + right(grouped(rule.changed_after), 15) + "\n";
  }
}

std::string interval(const std::optional<Share>& share) {
  if (!share) return "-";
  return percent(share->value) + " (" + percent(share->lower) + " to " + percent(share->upper) +
         ")";
}

void append_labels(std::string& out, const Summary& summary) {
  if (summary.labels.empty()) return;
  out += "\nWhat readers say, with 95 % intervals\n\n  " + left("rule", 30) +
         right("right, of fired", 29) + right("missed, of silent", 29) + right("unsettled", 11) +
         right("kappa", 8) + "\n";
  for (std::size_t i = 0; i < summary.labels.size(); ++i) {
    const RuleLabels& labels = summary.labels[i];
    if (labels.fired_read + labels.silent_read + labels.unsettled == 0) continue;
    std::array<char, 16> kappa{};
    if (labels.kappa) std::snprintf(kappa.data(), kappa.size(), "%.2f", *labels.kappa);
    const auto shown = [](Count part, Count all, const std::optional<Share>& share) {
      return all == 0 ? std::string("-")
                      : std::to_string(part) + "/" + std::to_string(all) + "  " + interval(share);
    };
    out += "  " + left(summary.head.sides.back().rules[i].name, 30) + " " +
           right(shown(labels.fired_right, labels.fired_read, labels.ppv), 30) +
           right(shown(labels.silent_missed, labels.silent_read, labels.missed_share), 30) +
           right(std::to_string(labels.unsettled), 9) + right(kappa.data(), 8) + "\n";
  }
}

void append_signals(std::string& out, const Summary& summary) {
  const std::size_t last = summary.head.sides.size() - 1;
  const SideInfo& info = summary.head.sides[last];
  const std::vector<Signal> signals =
      signals_of(summary.tally.sides[last], info.rules.size() - kBuiltInRules, summary.tally.months,
                 summary.tally.input.judged, summary.head.often);
  if (signals.empty()) return;
  out += "\nTo look at";
  if (last > 0) out += ", " + info.name;
  out += "\n\n";
  for (const Signal& signal : signals)
    out += "  " + left(info.rules[signal.rule].name, 34) + " " + signal.say + "\n";
}
}  // namespace

std::string summary_text(const Summary& summary) {
  std::string out;
  append_input(out, summary);
  append_outcomes(out, summary);
  if (summary.tally.comparison) append_comparison(out, summary);
  const bool several = summary.head.sides.size() > 1;
  append_rules(out, summary.head.sides.back(), summary.tally.sides.back(), several);
  append_signals(out, summary);
  append_labels(out, summary);
  out +=
      "\nThis shows what rules would have said. It does not replace the judgement of licensed "
      "staff,\nand a clear order is not an approval.\n";
  return out;
}

}  // namespace meniscus::adapters::replay
