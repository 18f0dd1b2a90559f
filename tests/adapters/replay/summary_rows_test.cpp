// A replay's summary as JSON Lines and as CSV.
//
// Checked against: the summary's JSON, which the lines must add up to again; RFC 4180, section 2,
//                  for line ends and quotes.  A general-purpose reader reads real runs in
//                  tests/interop/datacheck.
#include "adapters/replay/summary_rows.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "tests/adapters/replay/sample_summary.hpp"

namespace meniscus::adapters::replay {
namespace {
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using testing::one_sided_summary;
using testing::sample_summary;
using Json = nlohmann::ordered_json;

std::vector<Json> lines_of(const std::string& text) {
  std::vector<Json> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(Json::parse(line));
  return lines;
}

Json without(Json line, const std::vector<std::string>& members) {
  for (const std::string& member : members)
    EXPECT_EQ(line.erase(member), 1U) << member;
  return line;
}

/// The summary that the lines were cut from, as far as `side` and `comparison` go.
class Rebuilt {
 public:
  explicit Rebuilt(const std::vector<Json>& lines) {
    for (const Json& line : lines)
      add(line.at("kind"), line);
  }
  Json whole() { return all_; }

 private:
  Json& side(const Json& line) {
    for (Json& side : all_["sides"]) {
      if (side["name"] == line.at("side")) return side;
    }
    all_["sides"].push_back({{"name", line.at("side")}});
    return all_["sides"].back();
  }

  static Json& rule_of(Json& owner, const Json& line) {
    for (Json& rule : owner["rules"]) {
      if (rule["name"] == line.at("rule")) return rule;
    }
    ADD_FAILURE() << "no rule " << line;
    return owner;
  }

  void add(const std::string& kind, const Json& line) {
    if (kind == "run") all_.update(without(line, {"kind"}));
    if (kind == "outcome") {
      if (line["month"].is_null()) {
        side(line).update(without(line, {"kind", "side", "month", "judged"}));
        side(line).update({{"months", Json::array()}, {"rules", Json::array()}});
      } else {
        side(line)["months"].push_back(without(line, {"kind", "side"}));
      }
    }
    if (kind == "rule") {
      Json rule = without(line, {"kind", "side"});
      rule.update({{"months", Json::array()}, {"examples", Json::array()}});
      side(line)["rules"].push_back(rule);
    }
    if (kind == "rule-month")
      rule_of(side(line), line)["months"].push_back(without(line, {"kind", "side", "rule"}));
    if (kind == "pair") side(line)["pairs"].push_back(without(line, {"kind", "side"}));
    if (kind == "never-assessed")
      side(line)["never_assessed"].push_back(without(line, {"kind", "side"}));
    if (kind == "signal") {
      Json signal = without(line, {"kind", "side", "signal"});
      signal["kind"] = line["signal"];
      side(line)["signals"].push_back(signal);
    }
    add_comparison(kind, line);
  }

  void add_comparison(const std::string& kind, const Json& line) {
    if (kind == "shift" && line["month"].is_null()) {
      all_["comparison"].update(without(line, {"kind", "month"}));
      for (const char* shift :
           {"newly_stopped", "no_longer_stopped", "graver", "milder", "other_reason"})
        all_["comparison"]["examples"][shift] = Json::array();
    } else if (kind == "shift") {
      all_["comparison"]["months"].push_back(without(line, {"kind"}));
    }
    if (kind == "rule-shift") {
      Json rule = without(line, {"kind"});
      rule["examples"] = Json::array();
      all_["comparison"]["rules"].push_back(rule);
    }
    if (kind != "example") return;
    const Json example = without(line, {"kind", "side", "rule", "shift"});
    if (!line["shift"].is_null())
      all_["comparison"]["examples"][std::string(line["shift"])].push_back(example);
    else if (!line["side"].is_null())
      rule_of(side(line), line)["examples"].push_back(example);
    else
      rule_of(all_["comparison"], line)["examples"].push_back(example);
  }

  Json all_ = Json::object();
};

/// Members in any order.
nlohmann::json unordered(const std::string& text) { return nlohmann::json::parse(text); }

TEST(SummaryLines, AddUpToTheSummary) {
  for (const bool show : {false, true}) {
    for (const Summary& summary : {sample_summary(), one_sided_summary()}) {
      const std::string lines = summary_jsonl(summary, show);
      EXPECT_EQ(unordered(Rebuilt(lines_of(lines)).whole().dump()),
                unordered(summary_json(summary, show)));
    }
  }
}

TEST(SummaryLines, BeginWithTheRunAndTheirKind) {
  const std::vector<Json> lines = lines_of(summary_jsonl(sample_summary(), false));
  for (const Json& line : lines)
    EXPECT_EQ(line.begin().key(), "kind");
  EXPECT_EQ(lines.at(0)["kind"], "run");
  EXPECT_EQ(lines.at(1)["side"], "before");
  EXPECT_EQ(lines.at(1)["judged"], 2000);
  EXPECT_EQ(lines.at(2)["month"], "2026-01");
}

TEST(SummaryLines, NumberPatientsAsTheJsonDoes) {
  const std::string lines = summary_jsonl(sample_summary(), false);
  EXPECT_THAT(lines, Not(HasSubstr("SM-00")));
  std::vector<std::string> patients;
  for (const Json& line : lines_of(lines)) {
    if (line["kind"] == "example") patients.push_back(line["patient"]);
  }
  // Of a rule after, of a shift, of that rule's shift: the same patient and another.
  EXPECT_THAT(patients, ElementsAre("patient 1", "patient 2", "patient 1", "patient 3"));
  EXPECT_THAT(summary_jsonl(sample_summary(), true), HasSubstr("\"patient\":\"SM-0013\""));
}

TEST(SummaryTable, HasARowForTheWholeAndForEachMonth) {
  EXPECT_EQ(summary_csv(one_sided_summary()),
            "side,rule,month,concerned,fired,not_assessed,muted,changed_after\r\n"
            "rules,volume-limit,,2000,400,0,0,0\r\n"
            "rules,volume-limit,2026-01,1000,100,0,0,\r\n"
            "rules,volume-limit,2026-02,1000,300,2,1,\r\n"
            "rules,quiet,,50,0,0,0,0\r\n"
            "rules,new-rule,,5,5,0,0,0\r\n"
            "rules,doubtful-value,,,1,0,0,0\r\n"
            "rules,doubtful-value,2026-02,,1,0,0,\r\n"
            "rules,internal,,,0,0,0,0\r\n");
}

TEST(SummaryTable, HasTheShiftInTheRowOfTheWhole) {
  const std::string table = summary_csv(sample_summary());
  EXPECT_THAT(table, HasSubstr("muted,changed_after,newly,gone,graver,milder,same\r\n"));
  EXPECT_THAT(table, HasSubstr("\r\nbefore,volume-limit,,2000,400,0,0,0,0,0,2,0,398\r\n"));
  EXPECT_THAT(table, HasSubstr("\r\nafter,volume-limit,,2000,400,0,0,0,0,0,2,0,398\r\n"));
  EXPECT_THAT(table, HasSubstr("\r\nafter,volume-limit,2026-02,1000,300,2,1,,,,,,\r\n"));
  EXPECT_THAT(table, HasSubstr("\r\nbefore,gone-rule,,3,3,0,0,0,0,3,0,0,0\r\n"));
  EXPECT_THAT(table, HasSubstr("\r\nafter,new-rule,,5,5,0,0,0,5,0,0,0,0\r\n"));
}

TEST(SummaryTable, GuardsSpreadsheetsAndQuotes) {
  Summary summary = one_sided_summary();
  std::vector<RuleInfo>& rules = summary.head.sides[0].rules;
  rules[0].name = "=1+1";
  rules[1].name = "@a,\"b\"";
  rules[2].name = "-x";
  rules[3].name = "+x";
  rules[4].name = "two\nlines";
  const std::string table = summary_csv(summary);
  EXPECT_THAT(table, HasSubstr("\r\nrules,'=1+1,,2000"));
  EXPECT_THAT(table, HasSubstr("\r\nrules,\"'@a,\"\"b\"\"\",,50"));
  EXPECT_THAT(table, HasSubstr("\r\nrules,'-x,,5"));
  EXPECT_THAT(table, HasSubstr("\r\nrules,'+x,,"));
  EXPECT_THAT(table, HasSubstr("\r\nrules,\"two\nlines\",,"));
}

}  // namespace
}  // namespace meniscus::adapters::replay
