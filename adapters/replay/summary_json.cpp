// The summary as JSON (contract: summary.hpp; the shape: docs/schemas/replay-summary.schema.json).
#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <numeric>
#include <utility>

#include "adapters/replay/signals.hpp"
#include "adapters/replay/summary.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::replay {

namespace {
using Json = nlohmann::ordered_json;
using engine::format_day;

constexpr std::size_t kPairsShown = 30;
constexpr std::array kOutcomeNames = {engine::Outcome::Clear,   engine::Outcome::Note,
                                      engine::Outcome::Caution, engine::Outcome::Incomplete,
                                      engine::Outcome::Clarify, engine::Outcome::Hold};

/// Ids of patients as a reader sees them: numbered as they come.
class Patients {
 public:
  explicit Patients(bool show) : show_(show) {}
  std::string shown(const std::string& id) {
    if (show_ || id.empty()) return id;
    const auto [at, added] = numbers_.emplace(id, numbers_.size() + 1);
    return "patient " + std::to_string(at->second);
  }
  /// A text of a rule may name the patient too.
  std::string shown_in(std::string text, const std::string& id) {
    if (show_ || id.empty()) return text;
    for (std::size_t at = text.find(id); at != std::string::npos; at = text.find(id, at)) {
      const std::string number = shown(id);
      text.replace(at, id.size(), number);
      at += number.size();
    }
    return text;
  }

 private:
  bool show_;
  std::map<std::string, std::size_t> numbers_;
};

/// Writes one summary; knows the order of its months.
class SummaryWriter {
 public:
  SummaryWriter(const Summary& summary, bool show_patients)
      : summary_(summary), tally_(summary.tally), show_(show_patients), patients_(show_patients) {
    order_.resize(tally_.months.size());
    std::iota(order_.begin(), order_.end(), std::size_t{0});
    std::ranges::sort(order_, {}, [&](std::size_t slot) { return tally_.months[slot]; });
  }

  Json write() {
    const SummaryHead& head = summary_.head;
    Json out;
    out["replay"] = 1;
    out["made_by"] = head.made_by;
    out["fail_at"] = engine::name(head.fail_at);
    out["patients"] = show_ ? "shown" : "replaced";
    out["settings"] = {{"often", head.often}, {"seed", head.seed}};
    out["input"] = input();
    out["sides"] = Json::array();
    for (std::size_t i = 0; i < head.sides.size(); ++i)
      out["sides"].push_back(side(head.sides[i], tally_.sides[i]));
    if (tally_.comparison) out["comparison"] = comparison(*tally_.comparison);
    return out;
  }

 private:
  [[nodiscard]] Json input() const {
    const InputTally& counts = tally_.input;
    Json out;
    out["files"] = summary_.head.files;
    if (!summary_.head.unopened.empty()) out["unopened"] = summary_.head.unopened;
    out["records"] = counts.records();
    out["judged"] = counts.judged;
    out["recorded"] = counts.recorded;
    out["outside"] = counts.outside;
    out["unreadable"] = counts.unreadable;
    out["repeated"] = counts.repeated;
    out["merges"] = counts.merges;
    out["warm_up"] = counts.warm_up;
    out["undated"] = counts.undated;
    out["patients"] = counts.patients;
    if (!counts.unread.empty()) out["unread"] = unread(counts);
    if (counts.from) out["from"] = format_day(*counts.from);
    if (counts.to) out["to"] = format_day(*counts.to);
    if (summary_.head.since) out["since"] = format_day(*summary_.head.since);
    return out;
  }

  [[nodiscard]] Json unread(const InputTally& counts) const {
    Json out = Json::array();
    for (const Unread& record : counts.unread)
      out.push_back(
          {{"file", summary_.head.files[record.file]}, {"line", record.line}, {"why", record.why}});
    return out;
  }

  static Json outcomes(const std::array<Count, kOutcomes>& counts) {
    Json out;
    for (const engine::Outcome outcome : kOutcomeNames)
      out[std::string(engine::name(outcome))] = counts.at(static_cast<std::size_t>(outcome));
    return out;
  }

  Json side(const SideInfo& info, const SideTally& side) {
    Json out;
    out["name"] = info.name;
    out["rules_hash"] = info.hash;
    out["rules_day"] = format_day(info.rules_day);
    out["changes"] = changes(info);
    out["outcomes"] = outcomes(side.outcomes);
    out["stopped"] = side.stopped;
    out["findings_per_order"] = side.findings_per_order;
    out["groups_per_order"] = side.groups_per_order;
    out["months"] = Json::array();
    for (const std::size_t slot : order_) {
      if (slot >= side.months.size() || side.months[slot].judged == 0) continue;
      out["months"].push_back({{"month", month_text(tally_.months[slot])},
                               {"judged", side.months[slot].judged},
                               {"outcomes", outcomes(side.months[slot].outcomes)},
                               {"stopped", side.months[slot].stopped}});
    }
    out["pairs"] = pairs(info, side);
    out["never_assessed"] = Json::array();
    for (const auto& [what, rules] : side.never_assessed) {
      Json names = Json::array();
      for (const std::uint16_t rule : rules)
        names.push_back(info.rules[rule].name);
      out["never_assessed"].push_back({{"missing", what}, {"rules", std::move(names)}});
    }
    out["rules"] = Json::array();
    for (std::size_t i = 0; i < info.rules.size(); ++i)
      out["rules"].push_back(rule(info.rules[i], side.rules[i]));
    const bool last = &side == &tally_.sides.back();
    for (std::size_t i = 0; last && i < summary_.labels.size(); ++i)
      out["rules"][i]["labels"] = labels(summary_.labels[i]);
    out["signals"] = signals(info, side);
    return out;
  }

  static Json changes(const SideInfo& info) {
    Json out = Json::array();
    for (const ChangeInfo& change : info.changes) {
      Json entry{{"what", change.what}, {"because", change.because}, {"by", change.by}};
      if (!change.until.empty()) entry["until"] = change.until;
      entry["over"] = change.over;
      out.push_back(std::move(entry));
    }
    return out;
  }

  static Json pairs(const SideInfo& info, const SideTally& side) {
    std::vector<std::pair<std::pair<std::uint16_t, std::uint16_t>, Count>> all(side.pairs.begin(),
                                                                               side.pairs.end());
    std::ranges::stable_sort(all, [](const auto& a, const auto& b) { return a.second > b.second; });
    Json out = Json::array();
    for (std::size_t i = 0; i < std::min(all.size(), kPairsShown); ++i) {
      const auto& [rules, count] = all[i];
      out.push_back({{"rules", {info.rules[rules.first].name, info.rules[rules.second].name}},
                     {"orders", count}});
    }
    return out;
  }

  static Json fired_by(const RuleInfo& info, const RuleTally& rule) {
    Json out = Json::array();
    for (std::size_t i = 0; i < info.clauses.size(); ++i) {
      out.push_back({{"clause", i + 1},
                     {"grade", engine::name(info.clauses[i])},
                     {"orders", i < rule.clauses.size() ? rule.clauses[i] : 0}});
    }
    for (std::size_t i = 0; i < info.withouts.size(); ++i) {
      if (!info.withouts[i]) continue;
      out.push_back({{"without", i + 1},
                     {"grade", engine::name(*info.withouts[i])},
                     {"orders", i < rule.withouts.size() ? rule.withouts[i] : 0}});
    }
    return out;
  }

  /// The most frequent first.
  static Json missing(const RuleTally& rule) {
    std::vector<std::pair<std::string, Count>> all(rule.missing.begin(), rule.missing.end());
    std::ranges::stable_sort(all, [](const auto& a, const auto& b) { return a.second > b.second; });
    Json out = Json::array();
    for (const auto& [what, count] : all)
      out.push_back({{"what", what}, {"orders", count}});
    return out;
  }

  Json rule(const RuleInfo& info, const RuleTally& rule) {
    Json out;
    out["name"] = info.name;
    out["title"] = info.title;
    out["cite"] = info.cite;
    out["owner"] = info.owner;
    out["built_in"] = info.built_in;
    out["trial"] = info.trial;
    if (!info.built_in) out["concerned"] = rule.concerned;
    out["fired"] = rule.fired;
    out["fired_by"] = fired_by(info, rule);
    out["not_assessed"] = rule.not_assessed;
    out["missing"] = missing(rule);
    out["muted"] = rule.muted;
    out["trial_found"] = rule.trial_found;
    out["answered"] = rule.answered;
    out["changed_after"] = rule.changed_after;
    out["months"] = Json::array();
    for (const std::size_t slot : order_) {
      if (slot >= rule.months.size()) continue;
      const RuleMonth& month = rule.months[slot];
      if (month.concerned + month.fired + month.not_assessed + month.muted == 0) continue;
      out["months"].push_back({{"month", month_text(tally_.months[slot])},
                               {"concerned", month.concerned},
                               {"fired", month.fired},
                               {"not_assessed", month.not_assessed},
                               {"muted", month.muted}});
    }
    out["examples"] = examples(rule.examples);
    return out;
  }

  static Json share(const std::optional<Share>& share) {
    return share ? Json{share->value, share->lower, share->upper} : Json();
  }

  static Json labels(const RuleLabels& labels) {
    Json out{{"fired_read", labels.fired_read},
             {"fired_right", labels.fired_right},
             {"silent_read", labels.silent_read},
             {"silent_missed", labels.silent_missed},
             {"unsettled", labels.unsettled}};
    if (labels.ppv) out["ppv"] = share(labels.ppv);
    if (labels.missed_share) out["missed_share"] = share(labels.missed_share);
    if (labels.missed_of_wanted) out["missed_of_wanted"] = share(labels.missed_of_wanted);
    if (labels.both_read > 0) {
      out["agreement"] = {{"both_read", labels.both_read}, {"same", labels.agreed}};
      if (labels.kappa) out["agreement"]["kappa"] = *labels.kappa;
    }
    return out;
  }

  [[nodiscard]] Json signals(const SideInfo& info, const SideTally& side) const {
    const std::size_t rules = info.rules.size() - kBuiltInRules;
    Json out = Json::array();
    for (const Signal& signal :
         signals_of(side, rules, tally_.months, tally_.input.judged, summary_.head.often)) {
      Json entry{{"kind", name(signal.kind)}, {"rule", info.rules[signal.rule].name}};
      if (signal.month) {
        entry["month"] = month_text(*signal.month);
        entry["share"] = signal.share;
        entry["expected"] = signal.expected;
      } else if (signal.kind == SignalKind::Often) {
        entry["share"] = signal.share;
      }
      entry["of"] = signal.of;
      entry["say"] = signal.say;
      out.push_back(std::move(entry));
    }
    return out;
  }

  Json examples(const Examples& all) {
    Json out = Json::array();
    for (const Example& example : all.orders())
      out.push_back(this->example(example));
    return out;
  }

  Json example(const Example& example) {
    Json out;
    out["order"] = example.order;
    out["patient"] = patients_.shown(example.patient);
    out["day"] = format_day(example.day);
    out["file"] = example.file;
    out["line"] = example.line;
    if (example.said.size() == 1) {
      out["outcome"] = engine::name(example.said[0].outcome);
      out["findings"] = found(example.said[0], example.patient);
      return out;
    }
    out["before"] = engine::name(example.said.at(0).outcome);
    out["after"] = engine::name(example.said.at(1).outcome);
    out["findings_before"] = found(example.said[0], example.patient);
    out["findings_after"] = found(example.said[1], example.patient);
    return out;
  }

  Json found(const Said& said, const std::string& patient) {
    Json out = Json::array();
    for (const Found& finding : said.found) {
      Json fields = Json::array();
      for (const auto& [field, value] : finding.fields)
        fields.push_back({{"name", field}, {"value", patients_.shown_in(value, patient)}});
      out.push_back({{"rule", finding.rule},
                     {"grade", engine::name(finding.grade)},
                     {"say", patients_.shown_in(finding.say, patient)},
                     {"ask", patients_.shown_in(finding.ask, patient)},
                     {"fields", std::move(fields)}});
    }
    return out;
  }

  static Json shifts(const std::array<Count, kShifts>& counts) {
    Json out;
    for (std::size_t i = 0; i < kShifts; ++i)
      out[std::string(name(static_cast<Shift>(i)))] = counts.at(i);
    return out;
  }

  Json comparison(const ComparisonTally& counts) {
    Json out;
    out["orders"] = std::accumulate(counts.shifts.begin(), counts.shifts.end(), Count{0});
    out.update(shifts(counts.shifts));
    out["outside_of_one"] = counts.outside_of_one;
    out["outcomes"] = Json::array();
    for (const engine::Outcome before : kOutcomeNames) {
      for (const engine::Outcome after : kOutcomeNames) {
        const Count orders = counts.outcomes.at(static_cast<std::size_t>(before))
                                 .at(static_cast<std::size_t>(after));
        if (orders == 0) continue;
        out["outcomes"].push_back(
            {{"before", engine::name(before)}, {"after", engine::name(after)}, {"orders", orders}});
      }
    }
    out["months"] = Json::array();
    for (const std::size_t slot : order_) {
      if (slot >= counts.months.size()) continue;
      const auto& month = counts.months[slot];
      const Count orders = std::accumulate(month.begin(), month.end(), Count{0});
      if (orders == 0) continue;
      Json entry{{"month", month_text(tally_.months[slot])}, {"orders", orders}};
      entry.update(shifts(month));
      out["months"].push_back(std::move(entry));
    }
    out["examples"] = Json::object();
    for (std::size_t i = 1; i < kShifts; ++i)
      out["examples"][std::string(name(static_cast<Shift>(i)))] = examples(counts.examples.at(i));
    out["rules"] = Json::array();
    for (std::size_t i = 0; i < counts.rules.size(); ++i)
      out["rules"].push_back(rule_shift(summary_.head.all_rules[i], counts.rules[i]));
    return out;
  }

  Json rule_shift(const std::string& rule, const RuleShift& counts) {
    Json out;
    out["name"] = rule;
    out["in"] = Json::array();
    for (const SideInfo& side : summary_.head.sides) {
      if (std::ranges::find(side.rules, rule, &RuleInfo::name) != side.rules.end())
        out["in"].push_back(side.name);
    }
    out["same"] = counts.same;
    out["newly"] = counts.newly;
    out["gone"] = counts.gone;
    out["graver"] = counts.graver;
    out["milder"] = counts.milder;
    out["examples"] = examples(counts.examples);
    return out;
  }

  const Summary& summary_;
  const Tally& tally_;
  bool show_;
  Patients patients_;
  std::vector<std::size_t> order_;  // slots, by month
};
}  // namespace

std::string summary_json(const Summary& summary, bool show_patients) {
  // What is no UTF-8 in an input's texts becomes U+FFFD.
  return SummaryWriter(summary, show_patients)
             .write()
             .dump(1, ' ', false, Json::error_handler_t::replace) +
         "\n";
}

}  // namespace meniscus::adapters::replay
