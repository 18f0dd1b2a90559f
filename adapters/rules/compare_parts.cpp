// Contract: see compare_parts.hpp.  A clause has no name: those of two rules that have most in
// common are taken for the same one.
#include "adapters/rules/compare_parts.hpp"

#include <algorithm>
#include <initializer_list>
#include <map>
#include <optional>
#include <utility>

#include "adapters/rules/rule_prose.hpp"
#include "adapters/rules/rule_text.hpp"
#include "engine/quantity/calendar.hpp"
#include "grammar/format.hpp"

namespace meniscus::adapters {

namespace {
using engine::Rule;
using Lines = std::vector<std::string>;

std::string joined(std::initializer_list<std::string_view> parts) {
  std::string text;
  for (const std::string_view part : parts)
    text += part;
  return text;
}

constexpr std::size_t kLongestOnOneLine = 50;  // bytes of the old and the new together

RuleText text_of(const Rule& rule) { return split_rule(grammar::format({}, rule.text).text); }

std::string day_text(const std::optional<std::int64_t>& day) {
  return day ? engine::format_day(*day) : std::string();
}

// ------------------------------------------------------------------ clauses

/// How much two clauses have in common; below kSame they are not the same one.
constexpr int kSame = 2;
int likeness(const ClauseText& a, const ClauseText& b) {
  int points = 0;
  if (RuleProse()(a.when) == RuleProse()(b.when)) points += 4;
  if (a.say == b.say) points += 4;
  if (a.grade == b.grade) points += 1;
  if (a.blames == b.blames) points += 1;
  if (a.ask == b.ask && !a.ask.empty()) points += 1;
  return points;
}

/// For each clause of `after` the one of `before` that it was, if any: the likest first.
std::vector<std::optional<std::size_t>> origins(const std::vector<ClauseText>& before,
                                                const std::vector<ClauseText>& after) {
  struct Pair {
    int points;
    std::size_t was, now;
  };
  std::vector<Pair> pairs;
  for (std::size_t now = 0; now < after.size(); ++now) {
    for (std::size_t was = 0; was < before.size(); ++was) {
      const int points = likeness(before[was], after[now]);
      if (points >= kSame) pairs.push_back({points, was, now});
    }
  }
  std::stable_sort(pairs.begin(), pairs.end(),
                   [](const Pair& a, const Pair& b) { return a.points > b.points; });
  std::vector<std::optional<std::size_t>> origin(after.size());
  std::vector<bool> taken(before.size(), false);
  for (const Pair& pair : pairs) {
    if (origin[pair.now] || taken[pair.was]) continue;
    origin[pair.now] = pair.was;
    taken[pair.was] = true;
  }
  return origin;
}

std::string in_quotes(const std::string& text) { return text.empty() ? text : '"' + text + '"'; }

std::string clause_name(std::size_t index, const ClauseText& clause) {
  return "clause " + std::to_string(index + 1) + " (" + clause.grade + ")";
}

std::string clause_text(const ClauseText& clause) {
  return "when " + RuleProse()(clause.when) + "; says \"" + clause.say + '"';
}

void compare_clause(Lines& lines, const std::string& name, const ClauseText& was,
                    const ClauseText& now) {
  note_change(lines, name + ": grade", was.grade, now.grade);
  note_change(lines, name + ": condition", RuleProse()(was.when), RuleProse()(now.when));
  note_change(lines, name + ": say", in_quotes(was.say), in_quotes(now.say));
  note_change(lines, name + ": ask", in_quotes(was.ask), in_quotes(now.ask));
  note_change(lines, name + ": blames", was.blames, now.blames);
}

void compare_clauses(Lines& lines, const std::vector<ClauseText>& before,
                     const std::vector<ClauseText>& after) {
  const auto origin = origins(before, after);
  std::vector<bool> kept(before.size(), false);
  std::optional<std::size_t> last;
  bool reordered = false;
  for (std::size_t i = 0; i < after.size(); ++i) {
    const std::string name = clause_name(i, after[i]);
    if (!origin[i]) {
      lines.push_back("new " + name + ": " + clause_text(after[i]));
      continue;
    }
    kept[*origin[i]] = true;
    reordered = reordered || (last && *origin[i] < *last);
    last = origin[i];
    compare_clause(lines, name, before[*origin[i]], after[i]);
  }
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (kept[i]) continue;
    lines.push_back("former " + clause_name(i, before[i]) +
                    " removed (was: " + clause_text(before[i]) + ")");
  }
  if (reordered) {
    lines.emplace_back("the clauses stand in another order, and the first that holds is reported");
  }
}

// ------------------------------------------------------------------ what has names

using Named = std::vector<std::pair<std::string, std::string>>;

void compare_named(Lines& lines, const std::string& kind, const Named& before, const Named& after) {
  const auto find = [](const Named& all, const std::string& name) {
    return std::find_if(all.begin(), all.end(),
                        [&](const auto& each) { return each.first == name; });
  };
  for (const auto& [name, words] : after) {
    const auto was = find(before, name);
    if (was == before.end()) {
      lines.push_back(joined({"new ", kind, name, ": ", words}));
    } else {
      note_change(lines, kind + name, was->second, words);
    }
  }
  for (const auto& [name, words] : before) {
    if (find(after, name) == after.end())
      lines.push_back(joined({kind, name, " removed (was: ", words, ")"}));
  }
}

Named lets_of(const RuleText& rule) {
  Named lets;
  for (const auto& [name, words] : rule.lets)
    lets.emplace_back(name, RuleProse()(words));
  return lets;
}

/// What follows the absence of each field: several fields of one `without` are as many answers.
Named withouts_of(const RuleText& rule) {
  Named answers;
  for (const WithoutText& without : rule.withouts) {
    std::string answer = without.grade.empty() ? "ignored" : without.grade;
    if (!without.say.empty()) answer += ", says \"" + without.say + '"';
    if (!without.ask.empty()) answer += ", asks \"" + without.ask + '"';
    std::string_view rest = without.fields;
    while (!rest.empty()) {
      const std::size_t end = std::min(rest.find(", "), rest.size());
      answers.emplace_back(rest.substr(0, end), answer);
      rest.remove_prefix(std::min(end + 2, rest.size()));
    }
  }
  return answers;
}
}  // namespace

void note_change(Lines& lines, std::string_view what, const std::string& before,
                 const std::string& after) {
  if (before == after) return;
  const std::string was = before.empty() ? "none" : before;
  const std::string now = after.empty() ? "none" : after;
  const bool is_long = was.size() + now.size() > kLongestOnOneLine;
  std::string line(what);
  line += is_long ? "\nwas: " + was + "\nnow: " + now : " was " + was + ", now " + now;
  lines.push_back(std::move(line));
}

Lines rule_changes(const Rule& before, const Rule& after) {
  Lines lines;
  const RuleText was = text_of(before);
  const RuleText now = text_of(after);
  note_change(lines, "title", in_quotes(before.title), in_quotes(after.title));
  note_change(lines, "dates of force", was.dates, now.dates);
  note_change(lines, "on trial", before.trial ? "yes" : "no", after.trial ? "yes" : "no");
  const auto concerns = [](const RuleText& rule) {
    return rule.concerns.empty() ? "all orders" : RuleProse()(rule.concerns);
  };
  note_change(lines, "concerns", concerns(was), concerns(now));
  compare_named(lines, "let ", lets_of(was), lets_of(now));
  compare_clauses(lines, was.clauses, now.clauses);
  compare_named(lines, "without ", withouts_of(was), withouts_of(now));
  note_change(lines, "source", in_quotes(before.cite), in_quotes(after.cite));
  note_change(lines, "owner", before.owner, after.owner);
  note_change(lines, "reviewed", day_text(before.reviewed), day_text(after.reviewed));
  note_change(lines, "review by", day_text(before.review_by), day_text(after.review_by));
  return lines;
}

}  // namespace meniscus::adapters
