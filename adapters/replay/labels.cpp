// Contract: see labels.hpp.
#include "adapters/replay/labels.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <set>
#include <utility>

#include "adapters/csv/csv_table.hpp"
#include "engine/base/ascii.hpp"
#include "engine/order/field.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::replay {

namespace {
constexpr std::array<std::string_view, 7> kHead = {"sample", "rule", "title", "label",
                                                   "remark", "file", "line"};
constexpr double kNormal95 = 1.959963984540054;  // the 97.5 % point of the normal distribution

engine::Error wrong(std::string sentence) {
  return {engine::Errc::Input, std::move(sentence), 0, 0};
}

/// Twelve digits that say nothing of what the rule did.
std::string id_of(const Example& example) {
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string id;
  for (int i = 0; i < 12; ++i)
    id += kHex[example.key >> (60 - 4 * i) & 15U];
  return id;
}

/// What begins with one of these marks is a formula to a spreadsheet.
void append_cell(std::string& out, std::string_view text) {
  if (!out.empty() && out.back() != '\n') out += ',';
  const bool formula =
      !text.empty() && std::string_view("=+-@\t\r").find(text[0]) != std::string_view::npos;
  out += '"';
  if (formula) out += '\'';
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  out += '"';
}

/// A drawn order, and for which rule.
struct Drawn {
  std::string id;
  std::size_t rule = 0;
  bool fired = false;
  const Example* example = nullptr;
};

/// By rule, then by number: what fired and what did not are mixed.
std::vector<Drawn> drawn_of(const Summary& summary) {
  std::vector<Drawn> all;
  const std::vector<RuleTally>& rules = summary.tally.sides.back().rules;
  for (std::size_t i = 0; i < rules.size(); ++i) {
    for (const Example& example : rules[i].drawn_fired.orders())
      all.push_back({id_of(example), i, true, &example});
    for (const Example& example : rules[i].drawn_silent.orders())
      all.push_back({id_of(example), i, false, &example});
  }
  std::ranges::sort(all, [](const Drawn& a, const Drawn& b) {
    return std::pair(a.rule, std::string_view(a.id)) < std::pair(b.rule, std::string_view(b.id));
  });
  return all;
}

/// The fields that some drawn order has, in their usual order.
std::vector<std::string> fields_of(const std::vector<Drawn>& drawn) {
  std::set<std::string> there;
  for (const Drawn& one : drawn) {
    for (const auto& [name, text] : one.example->fields)
      there.insert(name);
  }
  std::vector<std::string> names;
  for (const engine::FieldInfo& field : engine::fields()) {
    if (there.contains(std::string(field.name))) names.emplace_back(field.name);
  }
  return names;
}
}  // namespace

namespace {
/// The ends from the ends of both shares: wider than need be, never narrower.
Share missed_of_wanted(const RuleLabels& labels, const RuleTally& tally) {
  const Count other = tally.fired + tally.not_assessed;
  const auto silent = static_cast<double>(tally.concerned - std::min(tally.concerned, other));
  const auto of_wanted = [&](double missed, double right) {
    const double lost = missed * silent;
    const double found = right * static_cast<double>(tally.fired);
    return lost + found > 0 ? lost / (lost + found) : 0;
  };
  return {of_wanted(labels.missed_share->value, labels.ppv->value),
          of_wanted(labels.missed_share->lower, labels.ppv->upper),
          of_wanted(labels.missed_share->upper, labels.ppv->lower)};
}
}  // namespace

std::string sample_csv(const Summary& summary, bool show_patients) {
  const std::vector<Drawn> drawn = drawn_of(summary);
  const std::vector<std::string> fields = fields_of(drawn);
  std::string out;
  for (const std::string_view name : kHead)
    append_cell(out, name);
  for (const std::string& name : fields)
    append_cell(out, name);
  out += "\r\n";
  std::map<std::string, std::size_t> patients;
  for (const Drawn& one : drawn) {
    const RuleInfo& rule = summary.head.sides.back().rules[one.rule];
    for (const std::string& text : {one.id, rule.name, rule.title, std::string(), std::string(),
                                    one.example->file, std::to_string(one.example->line)})
      append_cell(out, text);
    const std::string& id = one.example->patient;
    const std::size_t number = patients.emplace(id, patients.size() + 1).first->second;
    for (const std::string& name : fields) {
      const auto found = std::ranges::find(one.example->fields, name,
                                           [](const auto& field) { return field.first; });
      const bool hidden = name == "patient.id" && !show_patients && !id.empty();
      append_cell(out, hidden                               ? "patient " + std::to_string(number)
                       : found == one.example->fields.end() ? std::string()
                                                            : found->second);
    }
    out += "\r\n";
  }
  return out;
}

Labels::Labels(const Summary& key) {
  for (const Drawn& drawn : drawn_of(key))
    rows_.push_back({drawn.id, drawn.rule, drawn.fired, {}});
  std::ranges::sort(rows_, {}, &Row::id);
}

std::optional<Labels::Label> Labels::label_named(std::string_view text) {
  std::string word(engine::ascii::trimmed(text));
  std::ranges::transform(word, word.begin(), engine::ascii::lower);
  if (word.empty()) return Label::None;
  if (word == "yes" || word == "y") return Label::Yes;
  if (word == "no" || word == "n") return Label::No;
  if (word == "unsure" || word == "?") return Label::Unsure;
  return std::nullopt;
}

engine::Status Labels::add(std::string_view csv) {
  const CsvTable table = read_csv_table(csv);
  const auto line_of = [csv](engine::Span span) {
    return std::to_string(1 + std::ranges::count(csv.substr(0, span.begin), '\n'));
  };
  if (!table.problems.empty())
    return wrong("line " + line_of(table.problems[0].span) + ": " + table.problems[0].reason);
  const auto column = [&table](std::string_view name) {
    const auto found = std::ranges::find(table.head.cells, name, &TableCell::text);
    return static_cast<std::size_t>(found - table.head.cells.begin());
  };
  const std::size_t sample = column("sample");
  const std::size_t label = column("label");
  if (sample >= table.head.cells.size() || label >= table.head.cells.size())
    return wrong("it has no columns `sample` and `label`");
  for (Row& row : rows_)
    row.labels.resize(readers_ + 1);
  for (const TableRow& row : table.rows) {
    const std::string& id = row.cells[sample].text;
    const auto found = std::ranges::lower_bound(rows_, id, {}, &Row::id);
    const auto said = label_named(row.cells[label].text);
    if (found == rows_.end() || found->id != id)
      return wrong("line " + line_of(row.span) + ": `" + id + "` is no sample of this replay");
    if (!said)
      return wrong("line " + line_of(row.cells[label].span) + ": `" + row.cells[label].text +
                   "` is no label; write yes, no or unsure, or nothing");
    if (*said != Label::None && found->labels.back() != Label::None)
      return wrong("line " + line_of(row.span) + ": sample " + id + " is there twice");
    if (*said != Label::None) found->labels.back() = *said;
  }
  ++readers_;
  return engine::Done{};
}

/// What all who labelled a row say of it, and unsure where they differ; none where nobody did.
std::optional<Labels::Label> Labels::Row::agreed() const {
  std::optional<Label> all;
  for (const Label label : labels) {
    if (label == Label::None) continue;
    if (all && *all != label) return Label::Unsure;
    all = label;
  }
  return all;
}

/// Adds a row that two readers have labelled, to their agreement.
void Labels::compare(const Row& row, Pairs& both, RuleLabels& out) {
  if (row.labels.size() < 2 || row.labels[0] == Label::None || row.labels[1] == Label::None) return;
  const auto first = static_cast<std::size_t>(row.labels[0]) - 1;
  const auto second = static_cast<std::size_t>(row.labels[1]) - 1;
  ++both.at(first).at(second);
  ++out.both_read;
  out.agreed += first == second ? 1U : 0U;
}

RuleLabels Labels::of_rule(std::size_t rule, const RuleTally& tally) const {
  RuleLabels out;
  Pairs both{};
  for (const Row& row : rows_) {
    const std::optional<Label> label = row.rule == rule ? row.agreed() : std::nullopt;
    if (!label) continue;
    compare(row, both, out);
    if (*label == Label::Unsure) {
      ++out.unsettled;
      continue;
    }
    const Count yes = *label == Label::Yes ? 1 : 0;
    ++(row.fired ? out.fired_read : out.silent_read);
    (row.fired ? out.fired_right : out.silent_missed) += yes;
  }
  if (out.both_read > 0) out.kappa = replay::kappa(both);
  out.ppv = wilson(out.fired_right, out.fired_read);
  out.missed_share = wilson(out.silent_missed, out.silent_read);
  if (out.ppv && out.missed_share) out.missed_of_wanted = missed_of_wanted(out, tally);
  return out;
}

void Labels::settle(Summary& summary) const {
  const std::vector<RuleTally>& rules = summary.tally.sides.back().rules;
  summary.labels.clear();
  for (std::size_t i = 0; i < rules.size(); ++i)
    summary.labels.push_back(of_rule(i, rules[i]));
}

std::optional<Share> wilson(Count part, Count all) {
  if (all == 0) return std::nullopt;
  const auto n = static_cast<double>(all);
  const double p = static_cast<double>(part) / n;
  const double square = kNormal95 * kNormal95;
  const double middle = (p + square / (2 * n)) / (1 + square / n);
  const double half =
      kNormal95 * std::sqrt(p * (1 - p) / n + square / (4 * n * n)) / (1 + square / n);
  return Share{p, std::max(0.0, middle - half), std::min(1.0, middle + half)};
}

std::optional<double> kappa(const std::array<std::array<Count, 3>, 3>& counts) {
  double all = 0;
  double same = 0;
  double chance = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    double row = 0;
    double column = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      row += static_cast<double>(counts.at(i).at(k));
      column += static_cast<double>(counts.at(k).at(i));
    }
    all += row;
    same += static_cast<double>(counts.at(i).at(i));
    chance += row * column;
  }
  if (all == 0) return std::nullopt;
  const double by_chance = chance / (all * all);
  if (by_chance >= 1) return std::nullopt;
  return (same / all - by_chance) / (1 - by_chance);
}

}  // namespace meniscus::adapters::replay
