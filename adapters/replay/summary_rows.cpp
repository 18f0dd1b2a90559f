// Contract: see summary_rows.hpp.
#include "adapters/replay/summary_rows.hpp"

#include <algorithm>
#include <cstddef>
#include <nlohmann/json.hpp>
#include <numeric>
#include <string_view>
#include <utility>
#include <vector>

namespace meniscus::adapters::replay {

namespace {
using Json = nlohmann::ordered_json;

/// A member, which is no longer there then; null when there was none.
Json taken(Json& object, const char* member) {
  const auto at = object.find(member);
  if (at == object.end()) return {};
  Json value = std::move(*at);
  object.erase(at);
  return value;
}

/// One line after the other.
class Lines {
 public:
  void add(std::string_view kind, const Json& first, const Json& rest) {
    Json line{{"kind", kind}};
    line.update(first);
    line.update(rest);
    text_ += line.dump() + "\n";
  }

  /// `whose`: of which side, rule or shift they are; null where they are of none.
  void add_examples(const Json& examples, const Json& whose) {
    for (const Json& example : examples)
      add("example", whose, example);
  }

  void add_side(Json side, const Json& judged) {
    const Json name = taken(side, "name");
    const Json months = taken(side, "months");
    const Json pairs = taken(side, "pairs");
    const Json never = taken(side, "never_assessed");
    Json rules = taken(side, "rules");
    const Json signals = taken(side, "signals");
    add("outcome", {{"side", name}, {"month", nullptr}, {"judged", judged}}, side);
    for (const Json& month : months)
      add("outcome", {{"side", name}}, month);
    for (Json& rule : rules)
      add_rule(std::move(rule), name);
    for (const Json& pair : pairs)
      add("pair", {{"side", name}}, pair);
    for (const Json& what : never)
      add("never-assessed", {{"side", name}}, what);
    for (Json signal : signals) {
      const Json kind = taken(signal, "kind");
      add("signal", {{"side", name}, {"signal", kind}}, signal);
    }
  }

  void add_comparison(Json comparison) {
    const Json months = taken(comparison, "months");
    const Json examples = taken(comparison, "examples");
    const Json rules = taken(comparison, "rules");
    add("shift", {{"month", nullptr}}, comparison);
    for (const Json& month : months)
      add("shift", Json::object(), month);
    for (const auto& [shift, orders] : examples.items())
      add_examples(orders, {{"side", nullptr}, {"rule", nullptr}, {"shift", shift}});
    for (Json rule : rules) {
      const Json orders = taken(rule, "examples");
      add("rule-shift", Json::object(), rule);
      add_examples(orders, {{"side", nullptr}, {"rule", rule["name"]}, {"shift", nullptr}});
    }
  }

  std::string text() && { return std::move(text_); }

 private:
  void add_rule(Json rule, const Json& side) {
    const Json months = taken(rule, "months");
    const Json examples = taken(rule, "examples");
    add("rule", {{"side", side}}, rule);
    for (const Json& month : months)
      add("rule-month", {{"side", side}, {"rule", rule["name"]}}, month);
    add_examples(examples, {{"side", side}, {"rule", rule["name"]}, {"shift", nullptr}});
  }

  std::string text_;
};

/// A text as a cell: a spreadsheet takes what begins with one of these marks for a formula.
std::string cell(std::string_view text) {
  constexpr std::string_view kFormula = "=+-@";
  std::string safe;
  if (!text.empty() && kFormula.find(text.front()) != std::string_view::npos) safe = '\'';
  safe += text;
  if (safe.find_first_of("\",\r\n") == std::string::npos) return safe;
  std::string quoted = "\"";
  for (const char c : safe) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + "\"";
}

std::string cell(Count count) { return std::to_string(count); }

/// Writes the table; knows the order of the months.
class Table {
 public:
  explicit Table(const Summary& summary) : summary_(summary), tally_(summary.tally) {
    months_.resize(tally_.months.size());
    std::iota(months_.begin(), months_.end(), std::size_t{0});
    std::ranges::sort(months_, {}, [&](std::size_t slot) { return tally_.months[slot]; });
  }

  std::string write() {
    row({"side", "rule", "month", "concerned", "fired", "not_assessed", "muted", "changed_after"},
        {"newly", "gone", "graver", "milder", "same"});
    for (std::size_t i = 0; i < summary_.head.sides.size(); ++i) {
      const SideInfo& info = summary_.head.sides[i];
      for (std::size_t rule = 0; rule < info.rules.size(); ++rule)
        add_rule(info.name, info.rules[rule], tally_.sides[i].rules[rule]);
    }
    return std::move(text_);
  }

 private:
  using Cells = std::vector<std::string>;

  /// `shift` is left out where nothing is compared.
  void row(const Cells& cells, const Cells& shift) {
    std::string line;
    const auto append = [&line](const Cells& all) {
      for (const std::string& one : all) {
        if (!line.empty()) line += ',';
        line += one;
      }
    };
    append(cells);
    if (tally_.comparison) append(shift);
    text_ += line + "\r\n";
  }

  void add_rule(const std::string& side, const RuleInfo& info, const RuleTally& rule) {
    // Rules of the program itself concern every order: nobody counts for them.
    const auto concerned = [&info](Count count) { return info.built_in ? "" : cell(count); };
    row({cell(side), cell(info.name), "", concerned(rule.concerned), cell(rule.fired),
         cell(rule.not_assessed), cell(rule.muted), cell(rule.changed_after)},
        shift_of(info.name));
    for (const std::size_t slot : months_) {
      if (slot >= rule.months.size()) continue;
      const RuleMonth& month = rule.months[slot];
      if (month.concerned + month.fired + month.not_assessed + month.muted == 0) continue;
      row({cell(side), cell(info.name), month_text(tally_.months[slot]), concerned(month.concerned),
           cell(month.fired), cell(month.not_assessed), cell(month.muted), ""},
          Cells(5));
    }
  }

  [[nodiscard]] Cells shift_of(const std::string& rule) const {
    if (!tally_.comparison) return {};
    const auto& names = summary_.head.all_rules;
    const auto at = std::ranges::find(names, rule);
    const auto number = static_cast<std::size_t>(at - names.begin());
    if (number >= tally_.comparison->rules.size()) return Cells(5);
    const RuleShift& shift = tally_.comparison->rules[number];
    return {cell(shift.newly), cell(shift.gone), cell(shift.graver), cell(shift.milder),
            cell(shift.same)};
  }

  const Summary& summary_;
  const Tally& tally_;
  std::vector<std::size_t> months_;  // slots, by month
  std::string text_;
};
}  // namespace

std::string summary_jsonl(const Summary& summary, bool show_patients) {
  Json all = Json::parse(summary_json(summary, show_patients));
  Json sides = taken(all, "sides");
  Json comparison = taken(all, "comparison");
  Lines lines;
  lines.add("run", Json::object(), all);
  for (Json& side : sides)
    lines.add_side(std::move(side), all["input"]["judged"]);
  if (!comparison.is_null()) lines.add_comparison(std::move(comparison));
  return std::move(lines).text();
}

std::string summary_csv(const Summary& summary) { return Table(summary).write(); }

}  // namespace meniscus::adapters::replay
