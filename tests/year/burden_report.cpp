// The alert burden as Markdown (contract: burden.hpp).
#include <algorithm>
#include <cmath>

#include "engine/quantity/quantity.hpp"
#include "tests/year/burden.hpp"

namespace meniscus::year {

namespace {
/// 12345 as `12,345`.
std::string counted(std::size_t number) {
  std::string text = std::to_string(number);
  for (std::size_t at = text.size(); at > 3; at -= 3)
    text.insert(at - 3, ",");
  return text;
}

/// A share as `99.87 %`, cut and never rounded up: 99.999 % is not all.
std::string percent(std::size_t part, std::size_t whole) {
  if (whole == 0) return "none";
  const double share = 100.0 * static_cast<double>(part) / static_cast<double>(whole);
  return engine::format_number(std::floor(share * 100) / 100) + " %";
}

/// `1 in 4,000`, or `none`.
std::string one_in(std::size_t part, std::size_t whole) {
  if (part == 0) return "none";
  return "1 in " + counted(whole / part);
}

std::string cell(std::size_t number) { return number == 0 ? "" : counted(number); }

void append_row(std::string& out, std::initializer_list<std::string> cells) {
  out += '|';
  for (const std::string& text : cells)
    out += " " + text + " |";
  out += '\n';
}

std::size_t worst_share_kind(const Burden& rich) {
  std::size_t worst = 0;
  double least = 2;
  for (std::size_t i = 0; i < rich.defects.size(); ++i) {
    const DefectCount& count = rich.defects[i];
    if (count.injected == 0) continue;
    const double share = static_cast<double>(count.found) / static_cast<double>(count.injected);
    if (share < least) least = share, worst = i;
  }
  return worst;
}

void append_sparse_target(std::string& out, const std::string& feed, const Burden& burden) {
  append_row(out, {feed + ": `hold` on a right order", "none",
                   one_in(burden.of(engine::Outcome::Hold), burden.sound)});
  append_row(out, {feed + ": lines on what is missing, on one right order", "4 at most",
                   std::to_string(burden.most_lines)});
}

void append_targets(std::string& out, const Measured& measured) {
  const Burden& rich = measured.rich;
  const DefectCount& worst = rich.defects[worst_share_kind(rich)];
  out += "| what | aimed at | measured |\n| --- | --- | --- |\n";
  append_row(out, {"defects found, of the kind that is found least", "99 %",
                   percent(worst.found, worst.injected)});
  append_row(out, {"right orders that get `clarify` or `hold`", "1 in 200 at most",
                   one_in(rich.grave(), rich.sound)});
  append_row(out, {"right orders that get anything above `note`", "1 in 20 at most",
                   one_in(rich.above_note(), rich.sound)});
  append_row(out, {"defects whose findings arrive as one group", "99 %",
                   percent(rich.one_group(), rich.injected())});
  append_sparse_target(out, "sparse feed", measured.sparse);
  append_sparse_target(out, "sparse feed without its profile", measured.bare);
}

void append_rules(std::string& out, const engine::Program& program, const Burden& rich) {
  std::vector<std::string> names;
  for (const engine::Rule& rule : program.rules)
    names.push_back(rule.name);
  for (const auto& [name, count] : rich.rules) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  out += "| rule | note | caution | clarify | hold | its defects | found |\n";
  out += "| --- | ---: | ---: | ---: | ---: | ---: | ---: |\n";
  for (const std::string& name : names) {
    const auto at = rich.rules.find(name);
    const RuleCount count = at == rich.rules.end() ? RuleCount{} : at->second;
    append_row(out, {"`" + name + "`", cell(count.sound[0]), cell(count.sound[1]),
                     cell(count.sound[2]), cell(count.sound[3]), cell(count.injected),
                     count.injected == 0 ? "" : percent(count.found, count.injected)});
  }
}

void append_defects(std::string& out, const Burden& rich) {
  out +=
      "| defect | found by | injected | found | one group |\n| --- | --- | ---: | ---: | ---: |\n";
  for (std::size_t i = 0; i < rich.defects.size(); ++i) {
    const DefectCount& count = rich.defects[i];
    std::string rules = "`" + std::string(defect(i).rules) + "`";
    if (const std::size_t blank = rules.find(' '); blank != std::string::npos)
      rules.replace(blank, 1, "` or `");
    append_row(out,
               {std::string(defect(i).what), rules, counted(count.injected),
                percent(count.found, count.injected), percent(count.one_group, count.injected)});
  }
}

void append_sparse(std::string& out, const Measured& measured) {
  out += "| outcome of a right order | with its profile | without |\n| --- | ---: | ---: |\n";
  for (std::size_t i = 0; i < measured.sparse.outcomes.size(); ++i) {
    if (measured.sparse.outcomes[i] + measured.bare.outcomes[i] == 0) continue;
    append_row(out, {std::string(engine::name(static_cast<engine::Outcome>(i))),
                     cell(measured.sparse.outcomes[i]), cell(measured.bare.outcomes[i])});
  }
  out += "\nWhat the feed never carries is said once a run, in " +
         std::to_string(measured.sparse.never.size()) +
         " lines. Without a profile every order says what it lacks.\n";
}
}  // namespace

std::string report(const engine::Program& program, const YearOptions& options,
                   const Measured& measured) {
  const Burden& rich = measured.rich;
  std::string out =
      "# Alert burden\n\n"
      "How often the shipped rules speak on orders that are right, and how many orders that are\n"
      "wrong they find. `./dev burden` measures it and writes this page.\n\n"
      "The orders are invented: a year of the clinic Slatemoor (`tests/year`), made by a program\n"
      "from the shipped tables, so that a right order is right by those tables. That measures\n"
      "whether the rules agree with themselves and with the tables; it does not measure what real\n"
      "prescribers write. A site measures that with its own orders.\n\n";
  out += "Seed " + std::to_string(options.seed) + ": " + counted(rich.sound) +
         " right orders and " + counted(rich.injected()) + " with one known defect each, among " +
         counted(rich.records) + " records.\n\n## Against the targets\n\n";
  append_targets(out, measured);
  out +=
      "\n## By rule\n\nFindings on right orders by grade, and the defects that the rule is there "
      "for.\n\n";
  append_rules(out, program, rich);
  out +=
      "\n## By defect\n\nA defect is found when a rule that is there for it speaks, at any "
      "grade. One group: everything above\n`note` that the order got stands in one group.\n\n";
  append_defects(out, rich);
  out +=
      "\n## The sparse form\n\nThe same orders as HL7 v2 messages with no more than patient, "
      "medicine with the strength in its\nname, dose, route and time, read with a feed profile "
      "that says so.\n\n";
  append_sparse(out, measured);
  return out;
}

}  // namespace meniscus::year
