// A part of a replay as JSON and back (contract: summary.hpp): every count and example as it is
// kept, so that parts add up exactly.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "adapters/replay/summary.hpp"

// nlohmann_json finds these by their arguments' namespace.  Numbers of grades, outcomes and months
// are those in memory: a part is read by the version that wrote it.
namespace meniscus::adapters::replay {

using Json = nlohmann::json;

// The library's macros expand to functions that the checks of style would cut up.
// NOLINTBEGIN(*)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Found, rule, grade, say, ask, fields)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Said, outcome, found)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Example, key, order, patient, day, file, line, said, fields)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(RuleMonth, concerned, fired, not_assessed, muted)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(OutcomeMonth, judged, stopped, outcomes)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(ChangeInfo, what, because, by, until, over)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Shard, number, of)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(Unread, file, line, why)
// NOLINTEND(*)

void to_json(Json& out, const Examples& examples) {
  out = {{"most", examples.most()}, {"orders", examples.orders()}};
}
void from_json(const Json& in, Examples& examples) {
  examples = Examples(in.at("most").get<std::size_t>());
  for (const Json& order : in.at("orders"))
    examples.add(order.get<Example>());
}

// NOLINTBEGIN(*)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(RuleTally, concerned, fired, not_assessed, muted, trial_found,
                                   answered, changed_after, clauses, withouts, missing, months,
                                   examples, drawn_fired, drawn_silent)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(SideTally, outcomes, stopped, findings_per_order,
                                   groups_per_order, months, pairs, rules, never_assessed)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(RuleShift, same, newly, gone, graver, milder, examples)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(ComparisonTally, shifts, outside_of_one, months, outcomes,
                                   examples, rules)
// NOLINTEND(*)

namespace {
template <class T>
Json optional_json(const std::optional<T>& value) {
  return value ? Json(*value) : Json();
}
template <class T>
std::optional<T> optional_of(const Json& value) {
  return value.is_null() ? std::nullopt : std::optional<T>(value.get<T>());
}
}  // namespace

void to_json(Json& out, const InputTally& input) {
  out = {{"judged", input.judged},        {"recorded", input.recorded},
         {"outside", input.outside},      {"unreadable", input.unreadable},
         {"repeated", input.repeated},    {"merges", input.merges},
         {"warm_up", input.warm_up},      {"undated", input.undated},
         {"patients", input.patients},    {"from", optional_json(input.from)},
         {"to", optional_json(input.to)}, {"unread", input.unread}};
}
void from_json(const Json& in, InputTally& input) {
  in.at("judged").get_to(input.judged);
  in.at("recorded").get_to(input.recorded);
  in.at("outside").get_to(input.outside);
  in.at("unreadable").get_to(input.unreadable);
  in.at("repeated").get_to(input.repeated);
  in.at("merges").get_to(input.merges);
  in.at("warm_up").get_to(input.warm_up);
  in.at("undated").get_to(input.undated);
  in.at("patients").get_to(input.patients);
  input.from = optional_of<std::int64_t>(in.at("from"));
  input.to = optional_of<std::int64_t>(in.at("to"));
  in.at("unread").get_to(input.unread);
}

void to_json(Json& out, const Tally& tally) {
  out = {{"months", tally.months}, {"input", tally.input}, {"sides", tally.sides}};
  if (tally.comparison) out["comparison"] = *tally.comparison;
}
void from_json(const Json& in, Tally& tally) {
  in.at("months").get_to(tally.months);
  in.at("input").get_to(tally.input);
  in.at("sides").get_to(tally.sides);
  if (in.contains("comparison")) tally.comparison = in["comparison"].get<ComparisonTally>();
}

void to_json(Json& out, const RuleInfo& rule) {
  out = {{"name", rule.name},       {"title", rule.title},       {"cite", rule.cite},
         {"owner", rule.owner},     {"built_in", rule.built_in}, {"trial", rule.trial},
         {"clauses", rule.clauses}, {"withouts", Json::array()}};
  for (const auto& without : rule.withouts)
    out["withouts"].push_back(optional_json(without));
}
void from_json(const Json& in, RuleInfo& rule) {
  in.at("name").get_to(rule.name);
  in.at("title").get_to(rule.title);
  in.at("cite").get_to(rule.cite);
  in.at("owner").get_to(rule.owner);
  in.at("built_in").get_to(rule.built_in);
  in.at("trial").get_to(rule.trial);
  in.at("clauses").get_to(rule.clauses);
  for (const Json& without : in.at("withouts"))
    rule.withouts.push_back(optional_of<engine::Grade>(without));
}

// NOLINTBEGIN(*)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE(SideInfo, name, hash, rules_day, changes, rules)
// NOLINTEND(*)

void to_json(Json& out, const SummaryHead& head) {
  out = {
      {"made_by", head.made_by},   {"fail_at", head.fail_at}, {"seed", head.seed},
      {"often", head.often},       {"files", head.files},     {"since", optional_json(head.since)},
      {"unopened", head.unopened}, {"sides", head.sides},     {"all_rules", head.all_rules}};
}
void from_json(const Json& in, SummaryHead& head) {
  in.at("made_by").get_to(head.made_by);
  in.at("fail_at").get_to(head.fail_at);
  in.at("seed").get_to(head.seed);
  in.at("often").get_to(head.often);
  in.at("files").get_to(head.files);
  head.since = optional_of<std::int64_t>(in.at("since"));
  in.at("unopened").get_to(head.unopened);
  in.at("sides").get_to(head.sides);
  in.at("all_rules").get_to(head.all_rules);
}

namespace {
constexpr int kPartFormat = 1;

engine::Error unreadable(std::string sentence) {
  return {engine::Errc::Input, std::move(sentence), 0, 0};
}

/// Days and months that a calendar has (engine/quantity/calendar.hpp: the years 1800 to 2200).
bool is_day(std::int64_t day) { return day > -100'000 && day < 100'000; }
bool is_month(Month month) { return month >= 1800 * 12 && month <= 2201 * 12; }

bool is_grade(engine::Grade grade) { return grade <= engine::Grade::Hold; }

bool is_sound(const Example& example) {
  return is_day(example.day) && std::ranges::all_of(example.said, [](const Said& said) {
           return said.outcome <= engine::Outcome::Recorded &&
                  std::ranges::all_of(said.found, is_grade, &Found::grade);
         });
}

/// All of them say something of as many sides.
bool is_sound(const Examples& examples, std::size_t sides) {
  return std::ranges::all_of(examples.orders(), [sides](const Example& example) {
    return is_sound(example) && example.said.size() == sides;
  });
}

bool is_sound(const SideInfo& side) {
  return is_day(side.rules_day) && std::ranges::all_of(side.rules, [](const RuleInfo& rule) {
           return std::ranges::all_of(rule.clauses, is_grade) &&
                  std::ranges::all_of(rule.withouts,
                                      [](const auto& grade) { return !grade || is_grade(*grade); });
         });
}

bool is_sound(const ComparisonTally& comparison) {
  return std::ranges::all_of(comparison.examples,
                             [](const Examples& all) { return is_sound(all, 2); }) &&
         std::ranges::all_of(comparison.rules,
                             [](const RuleShift& rule) { return is_sound(rule.examples, 2); });
}

/// The numbers that others are looked up by hold.
bool is_sound(const SideTally& side, std::size_t rules, std::size_t months) {
  const auto in_rules = [rules](const auto& entry) {
    return entry.second.empty() || *entry.second.rbegin() < rules;
  };
  return rules >= kBuiltInRules && side.rules.size() == rules && side.months.size() <= months &&
         std::ranges::all_of(side.rules,
                             [=](const RuleTally& rule) {
                               return rule.months.size() <= months && is_sound(rule.examples, 1) &&
                                      is_sound(rule.drawn_fired, 0) &&
                                      is_sound(rule.drawn_silent, 0);
                             }) &&
         std::ranges::all_of(side.pairs,
                             [=](const auto& entry) {
                               return entry.first.first < rules && entry.first.second < rules;
                             }) &&
         std::ranges::all_of(side.never_assessed, in_rules);
}

bool is_sound(const Summary& part) {
  const Tally& tally = part.tally;
  const std::size_t sides = part.head.sides.size();
  if (part.shard.of < 1 || sides < 1 || sides > 2 || tally.sides.size() != sides) return false;
  if (part.head.fail_at > engine::Outcome::Hold || !is_day(part.head.since.value_or(0)) ||
      !is_day(tally.input.from.value_or(0)) || !is_day(tally.input.to.value_or(0)) ||
      tally.input.from.has_value() != tally.input.to.has_value() ||
      !std::ranges::all_of(tally.months, is_month))
    return false;
  for (std::size_t i = 0; i < sides; ++i) {
    if (!is_sound(part.head.sides[i])) return false;
    if (!is_sound(tally.sides[i], part.head.sides[i].rules.size(), tally.months.size()))
      return false;
  }
  const auto has_file = [&part](const Unread& record) {
    return record.file < part.head.files.size();
  };
  if (!std::ranges::all_of(tally.input.unread, has_file)) return false;
  return !tally.comparison || (sides == 2 && is_sound(*tally.comparison) &&
                               tally.comparison->months.size() <= tally.months.size() &&
                               tally.comparison->rules.size() == part.head.all_rules.size());
}
}  // namespace

std::string part_json(const Summary& part) {
  const Json out{{"replay_part", kPartFormat},
                 {"shard", part.shard},
                 {"head", part.head},
                 {"tally", part.tally}};
  return out.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string tally_json(const Tally& tally) {
  return Json(tally).dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::optional<Tally> read_tally(std::string_view text) {
  try {
    return Json::parse(text).get<Tally>();
  } catch (const Json::exception&) {
    return std::nullopt;
  }
}

engine::Result<Summary> read_part(std::string_view text) {
  try {
    const Json in = Json::parse(text);
    if (!in.is_object() || !in.contains("replay_part"))
      return unreadable("it is no part of a replay; `meniscus replay --shard` writes them");
    if (in["replay_part"] != kPartFormat)
      return unreadable("it was written by another version of the program");
    Summary part;
    in.at("shard").get_to(part.shard);
    in.at("head").get_to(part.head);
    in.at("tally").get_to(part.tally);
    if (!is_sound(part)) return unreadable("its numbers do not fit together");
    return part;
  } catch (const Json::exception&) {
    // The library's words may quote what it read.
    return unreadable("it is damaged, or was not written to its end");
  }
}

}  // namespace meniscus::adapters::replay
