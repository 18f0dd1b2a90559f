// `meniscus replay`: what is counted, what is judged on what, and that the same orders give the
// same summary, however they are read.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "engine/quantity/calendar.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/packing.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using Json = nlohmann::json;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

constexpr std::string_view kRules = R"(
rule rest "Let a site rest"
    concerns all orders
    let here = latest earlier injection within 14 days
    raise clarify when days since here.when < 7 days
        say "The last was {days since here.when} ago."
        blames schedule.start
    cite "common practice"
rule large "A large dose"
    concerns all orders
    raise hold when dose > 100 mg say "{dose} of {patient.id} is large." blames dose
    raise note when dose > 80 mg say "{dose} is much." blames dose
    cite "common practice"
)";

/// An order a line: what differs between the tests' orders.
struct Order {
  std::string id;
  std::string day;
  std::string patient = "SM-0012";
  std::string dose = "50 mg";
  std::string action = "new";
};

std::string line_of(const Order& order) {
  Json json{{"order", {{"id", order.id}, {"action", order.action}}},
            {"patient", {{"id", order.patient}}},
            {"dose", order.dose},
            {"route", "subcutaneous"}};
  if (!order.day.empty()) json["order"]["placed"] = order.day;
  return json.dump() + "\n";
}

class ReplayOrders : public ::testing::Test {
 public:
  ReplayOrders() { rules = folder.write("a.rule", std::string(kRules)); }

  [[nodiscard]] std::string orders(const std::string& name, const std::vector<Order>& all) const {
    std::string text;
    for (const Order& order : all)
      text += line_of(order);
    return folder.write(name, text);
  }

  /// Gives the exit status; what was said is in `said` and `complained`.
  int run(std::vector<std::string> words) {
    words.insert(words.begin(), {"replay", "--only-rules", "--rules", rules});
    return run_words(words);
  }
  int run_words(const std::vector<std::string>& words) {
    testing::CapturedConsole console;
    console.today = 20514;  // 2026-03-02
    const int status = static_cast<int>(run_program(words, console));
    said = console.said;
    complained = console.complained;
    return status;
  }
  Json summary(std::vector<std::string> words) {
    words.insert(words.end(), {"--to", "json"});
    run(std::move(words));
    return Json::parse(said, nullptr, false);
  }

  static const Json& rule(const Json& side, const std::string& name) {
    for (const Json& rule : side["rules"]) {
      if (rule["name"] == name) return rule;
    }
    throw std::runtime_error("no rule " + name);
  }

  testing::TestFolder folder;
  std::string rules;
  std::string said;
  std::string complained;
};

TEST_F(ReplayOrders, CountsWhatWasReadAndFound) {
  const std::string file =
      orders("year.ndjson", {{"A-1", "2026-01-02", "SM-0012", "90 mg"},
                             {"A-2", "2026-01-05"},
                             {"A-3", "2026-02-03", "SM-0013", "200 mg"},
                             {"A-3", "2026-02-04", "SM-0013", "20 mg", "change"},
                             {"A-2", "2026-02-05", "SM-0012", "50 mg", "stop"}});
  const Json all = summary({file, "--history-since", "2025-01-01"});
  EXPECT_EQ(all["input"]["records"], 5);
  EXPECT_EQ(all["input"]["judged"], 4);
  EXPECT_EQ(all["input"]["recorded"], 1);
  EXPECT_EQ(all["input"]["patients"], 2);
  EXPECT_EQ(all["input"]["from"], "2026-01-02");
  EXPECT_EQ(all["input"]["to"], "2026-02-04");
  const Json& side = all["sides"][0];
  EXPECT_EQ(side["outcomes"], Json({{"clear", 1},
                                    {"note", 1},
                                    {"caution", 0},
                                    {"incomplete", 0},
                                    {"clarify", 1},
                                    {"hold", 1}}));
  const Json& large = rule(side, "large");
  EXPECT_EQ(large["concerned"], 4);
  EXPECT_EQ(large["fired"], 2);
  EXPECT_EQ(large["fired_by"][0]["orders"], 1) << "200 mg";
  EXPECT_EQ(large["fired_by"][1]["orders"], 1) << "90 mg";
  EXPECT_EQ(large["changed_after"], 1) << "A-3 was changed, A-1 was not";
  EXPECT_EQ(rule(side, "rest")["changed_after"], 1) << "A-2 was stopped";
  EXPECT_EQ(large["months"],
            Json::parse(R"([{"month":"2026-01","concerned":2,"fired":1,"not_assessed":0,"muted":0},
                            {"month":"2026-02","concerned":2,"fired":1,"not_assessed":0,"muted":0}])"));
}

TEST_F(ReplayOrders, JudgesOnWhatWasKnownThen) {
  // A-1 is received after A-2, which was planned three days later: A-2 could not know of it.
  const std::string file = folder.write(
      "late.ndjson", R"({"order":{"id":"A-2","placed":"2026-02-10"},"patient":{"id":"SM-0012"},)"
                     R"("route":"subcutaneous","schedule":{"start":"2026-02-13"}})"
                     "\n"
                     R"({"order":{"id":"A-1","placed":"2026-02-11"},"patient":{"id":"SM-0012"},)"
                     R"("route":"subcutaneous","schedule":{"start":"2026-02-10"}})"
                     "\n"
                     R"({"order":{"id":"A-3","placed":"2026-02-12"},"patient":{"id":"SM-0012"},)"
                     R"("route":"subcutaneous","schedule":{"start":"2026-02-14"}})"
                     "\n");
  const Json all = summary({file, "--history-since", "2025-01-01"});
  EXPECT_EQ(rule(all["sides"][0], "rest")["fired"], 1) << "A-3 alone";
  EXPECT_EQ(rule(all["sides"][0], "rest")["examples"][0]["order"], "A-3");
}

TEST_F(ReplayOrders, IsUndecidedBeforeHistoryBegins) {
  const std::string file = orders("a.ndjson", {{"A-1", "2026-02-02"}, {"A-2", "2026-03-02"}});
  const Json all = summary({file});
  EXPECT_EQ(all["input"]["since"], "2026-02-02");
  EXPECT_EQ(rule(all["sides"][0], "rest")["not_assessed"], 1) << "A-2 is a month later";
  EXPECT_EQ(rule(all["sides"][0], "rest")["missing"][0]["what"], "history before 2026-02-02");
  const std::string before = orders("b.ndjson", {{"A-0", "2026-01-31"}, {"A-9", "2025-12-01"}});
  const Json warm = summary({file, "--warm-up", before});
  EXPECT_EQ(warm["input"]["since"], "2025-12-01");
  EXPECT_EQ(warm["input"]["warm_up"], 2);
  EXPECT_EQ(warm["input"]["judged"], 2);
  EXPECT_EQ(rule(warm["sides"][0], "rest")["not_assessed"], 0);
  EXPECT_EQ(rule(warm["sides"][0], "rest")["fired"], 1) << "A-1, two days after A-0";
}

TEST_F(ReplayOrders, CountsRepeatedUnreadableAndUndatedApart) {
  const std::string text = line_of({"A-1", "2026-02-02"}) + line_of({"A-1", "2026-02-02"}) +
                           "{\"order\":\n" + line_of({"A-2", ""}) +
                           R"({"order":{"id":"A-3","placed":"2026-02-03"},"route":"oral"})" + "\n";
  const Json all = summary({folder.write("mixed.ndjson", text)});
  EXPECT_EQ(all["input"]["repeated"], 1);
  EXPECT_EQ(all["input"]["unreadable"], 1);
  EXPECT_EQ(all["input"]["judged"], 3) << "without a table of routes, oral is an order as others";
  EXPECT_EQ(all["input"]["undated"], 1) << "A-2";
  EXPECT_EQ(all["input"]["unread"][0]["line"], 3);
  EXPECT_EQ(run({folder / "mixed.ndjson"}), 2);
  EXPECT_THAT(complained, HasSubstr("mixed.ndjson:3: the record is no JSON"));
}

TEST_F(ReplayOrders, ComparesTwoSetsOfRules) {
  const std::string after = folder.write("b.rule", R"(
rule large "A large dose"
    concerns all orders
    raise clarify when dose > 60 mg say "{dose} is large." blames dose
    cite "common practice"
rule small "A small dose"
    concerns all orders
    raise note when dose < 10 mg say "{dose} is small." blames dose
    cite "common practice"
)");
  const std::string file = orders("a.ndjson", {{"A-1", "2026-02-02", "SM-0012", "200 mg"},
                                               {"A-2", "2026-02-02", "SM-0013", "70 mg"},
                                               {"A-3", "2026-02-02", "SM-0014", "50 mg"},
                                               {"A-4", "2026-02-04", "SM-0014", "50 mg"},
                                               {"A-5", "2026-02-04", "SM-0015", "5 mg"}});
  const Json all = summary({file, "--against", after, "--history-since", "2025-01-01"});
  const Json& comparison = all["comparison"];
  EXPECT_EQ(comparison["orders"], 5);
  EXPECT_EQ(comparison["newly_stopped"], 1) << "A-2";
  EXPECT_EQ(comparison["no_longer_stopped"], 1) << "A-4: there is no rule of rest";
  EXPECT_EQ(comparison["milder"], 1) << "A-1: hold to clarify";
  EXPECT_EQ(comparison["graver"], 1) << "A-5: clear to note";
  EXPECT_EQ(comparison["same"], 1) << "A-3";
  EXPECT_EQ(comparison["examples"]["newly_stopped"][0]["order"], "A-2");
  EXPECT_EQ(comparison["examples"]["newly_stopped"][0]["before"], "clear");
  EXPECT_EQ(comparison["examples"]["newly_stopped"][0]["findings_after"][0]["say"],
            "70 mg is large.");
  std::vector<std::string> names;
  for (const Json& rule : comparison["rules"])
    names.push_back(rule["name"].get<std::string>() + " " + rule["in"].dump());
  EXPECT_THAT(names, ElementsAre(R"(rest ["before"])", R"(large ["before","after"])",
                                 R"(doubtful-value ["before","after"])",
                                 R"(internal ["before","after"])", R"(small ["after"])"));
  EXPECT_EQ(comparison["rules"][0]["gone"], 1);
  EXPECT_EQ(comparison["rules"][1]["newly"], 1);
  EXPECT_EQ(comparison["rules"][1]["milder"], 1);
  EXPECT_EQ(comparison["rules"][4]["newly"], 1);
  EXPECT_EQ(run({file, "--against", after}), 1) << "they differ";
  EXPECT_EQ(run({file, "--against", rules}), 0) << said;
}

TEST_F(ReplayOrders, ReadsARecordWithEachSetsOwnWords) {
  const std::string head = "route,synonyms [text],injection [yes/no]\n";
  folder.write("routes.csv", head + "skin,under the skin,yes\n");
  folder.write("other.csv", head + "skin,into the skin,yes\n");
  const std::string before = folder.write("c.rule", R"(
table routes from "routes.csv"
rule route "A route"
    concerns orders where route is skin
    raise note when dose > 1 mg say "{route}" blames route
    cite "common practice"
)");
  const std::string after = folder.write("d.rule", R"(
table routes from "other.csv"
rule route "A route"
    concerns orders where route is skin
    raise note when dose > 1 mg say "{route}" blames route
    cite "common practice"
)");
  const std::string order =
      R"({"order":{"id":"A-1","placed":"2026-02-02"},"dose":"5 mg","route":")";
  const std::string file =
      folder.write("routes.ndjson", order + "under the skin\"}\n" + order + "into the skin\"}\n" +
                                        order + "skin\"}\n");
  ASSERT_EQ(run_words({"replay", file, "--only-rules", "--rules", before, "--against", after,
                       "--to", "json"}),
            1)
      << complained;
  const Json all = Json::parse(said);
  EXPECT_EQ(rule(all["sides"][0], "route")["fired"], 2);
  EXPECT_EQ(rule(all["sides"][1], "route")["fired"], 2);
  EXPECT_EQ(all["comparison"]["rules"][0]["newly"], 1);
  EXPECT_EQ(all["comparison"]["rules"][0]["gone"], 1);
}

TEST_F(ReplayOrders, NumbersPatientsUnlessAsked) {
  const std::string file = orders("a.ndjson", {{"A-1", "2026-02-02", "SM-0012", "200 mg"}});
  run({file, "--to", "json"});
  EXPECT_THAT(said, Not(HasSubstr("SM-0012")));
  EXPECT_THAT(said, HasSubstr("200 mg of patient 1 is large."));
  run({file, "--to", "json", "--show-patients"});
  EXPECT_THAT(said, HasSubstr(R"("patient": "SM-0012")"));
}

/// Orders of many patients in a year, in the order of their days.
std::vector<Order> many_orders() {
  std::vector<Order> all;
  for (int i = 0; i < 3000; ++i) {
    const int day = i / 10;
    const std::int64_t first = engine::days_from_civil({2025, 1, 1});
    all.push_back({"A-" + std::to_string(i), engine::format_day(first + day),
                   "SM-" + std::to_string(i * 7919 % 41), std::to_string(1 + i % 120) + " mg"});
  }
  return all;
}

TEST_F(ReplayOrders, GivesTheSameForEveryNumberOfThreads) {
  const std::string file = orders("a.ndjson", many_orders());
  const Json one = summary({file, "--threads", "1"});
  EXPECT_EQ(one["input"]["judged"], 3000);
  EXPECT_GT(rule(one["sides"][0], "rest")["fired"], 100);
  for (const std::string threads : {"2", "3", "8"})
    EXPECT_EQ(summary({file, "--threads", threads}), one) << threads;
}

TEST_F(ReplayOrders, DrawsAsManyExamplesAsAskedForWithEveryNumberOfThreads) {
  const std::string file = orders("a.ndjson", many_orders());
  for (const std::string most : {"0", "1", "2", "5", "8"}) {
    const Json one = summary({file, "--examples", most, "--threads", "1"});
    EXPECT_EQ(rule(one["sides"][0], "rest")["examples"].size(), std::stoul(most));
    for (const std::string threads : {"2", "3"})
      EXPECT_EQ(summary({file, "--examples", most, "--threads", threads}), one) << most;
  }
}

TEST_F(ReplayOrders, GivesTheSameSorted) {
  std::vector<Order> all = many_orders();
  const Json streamed = summary({orders("a.ndjson", all)});
  EXPECT_THAT(complained, IsEmpty());
  std::stable_sort(all.begin(), all.end(),
                   [](const Order& a, const Order& b) { return a.patient < b.patient; });
  Json by_patient = summary({orders("b.ndjson", all)});
  EXPECT_THAT(complained, HasSubstr("the input is sorted first"));
  const auto without_places = [](Json json) {
    json["input"].erase("files");
    for (Json& rule : json["sides"][0]["rules"])
      rule.erase("examples");
    return json;
  };
  EXPECT_EQ(without_places(by_patient), without_places(streamed));
  const Json sorted = summary({folder / "a.ndjson", "--sort", "--threads", "2"});
  EXPECT_EQ(sorted, streamed);
}

TEST_F(ReplayOrders, GivesTheSameFromAnySplitAndPacking) {
  const std::vector<Order> all = many_orders();
  const Json whole = summary({orders("a.ndjson", all)});
  std::filesystem::create_directory(folder.path() / "split");
  for (std::size_t part = 0; part < 4; ++part) {
    std::string text;
    for (std::size_t i = part * 750; i < (part + 1) * 750; ++i)
      text += line_of(all[i]);
    if (part % 2 == 1) text = tests::gzipped(text);
    folder.write("split/" + std::to_string(part), text);
  }
  const Json split = summary({folder / "split", "--threads", "2"});
  EXPECT_EQ(split["sides"][0]["outcomes"], whole["sides"][0]["outcomes"]);
  EXPECT_EQ(split["sides"][0]["months"], whole["sides"][0]["months"]);
  EXPECT_EQ(rule(split["sides"][0], "rest")["months"], rule(whole["sides"][0], "rest")["months"]);
  EXPECT_EQ(split["input"]["files"].size(), 4);
}

TEST_F(ReplayOrders, AddsUpFromShards) {
  const std::string file = orders("a.ndjson", many_orders());
  const Json whole = summary({file, "--against", rules});
  std::vector<std::string> merge = {"replay", "merge", "--to", "json"};
  for (const std::string shard : {"3", "1", "2"}) {
    const std::string part = folder / ("part-" + shard);
    ASSERT_EQ(run({file, "--against", rules, "--shard", shard + "/3", "--part", part}), 0)
        << complained;
    EXPECT_THAT(said, IsEmpty());
    EXPECT_EQ(std::filesystem::status(part).permissions(), std::filesystem::perms(0600));
    merge.push_back(part);
  }
  ASSERT_EQ(run_words(merge), 0) << complained;
  EXPECT_EQ(Json::parse(said), whole);
  merge.pop_back();
  EXPECT_EQ(run_words(merge), 3);
  EXPECT_THAT(complained, HasSubstr("part 2 of 3 is missing"));
  merge.push_back(folder / "part-1");
  EXPECT_EQ(run_words(merge), 3);
  EXPECT_THAT(complained, HasSubstr("part 1 of 3 is there twice"));
}

TEST_F(ReplayOrders, RefusesDamagedParts) {
  const std::string file = orders("a.ndjson", {{"A-1", "2026-02-02"}});
  const std::string part = folder / "part";
  ASSERT_EQ(run({file, "--part", part}), 0) << complained;
  std::ostringstream text;
  text << std::ifstream(part).rdbuf();
  const std::string whole = text.str();
  EXPECT_EQ(run_words({"replay", "merge", folder.write("cut", whole.substr(0, whole.size() / 2))}),
            3);
  EXPECT_THAT(complained, HasSubstr("damaged"));
  EXPECT_EQ(run_words({"replay", "merge", folder.write("other", "{\"a\":1}")}), 3);
  EXPECT_THAT(complained, HasSubstr("no part of a replay"));
  EXPECT_EQ(run_words({"replay", "merge", folder / "nowhere"}), 3);
  EXPECT_THAT(complained, HasSubstr("cannot read"));
}

TEST_F(ReplayOrders, SaysWhatCannotBeOpenedAndReadsTheRest) {
  const std::string file = orders("a.ndjson", {{"A-1", "2026-02-02"}});
  EXPECT_EQ(run({file, folder / "gone.ndjson", "--to", "json"}), 2);
  EXPECT_THAT(complained, HasSubstr("gone.ndjson"));
  const Json all = Json::parse(said);
  EXPECT_EQ(all["input"]["judged"], 1);
  EXPECT_EQ(all["input"]["unopened"].size(), 1);
}

TEST_F(ReplayOrders, JudgesIdsThatAreMergedAsOnePatient) {
  const auto message = [](const std::string& kind, const std::string& day,
                          const std::string& rest) {
    return "MSH|^~\\&|A|B|C|D|" + day + "0800||" + kind + "|M" + day + "|P|2.5\r" + rest + "\r";
  };
  const auto order = [&](const std::string& id, const std::string& patient,
                         const std::string& day) {
    return message("RDE^O11^RDE_O11", day,
                   "PID|1||" + patient + "\rORC|NW|" + id + "\rRXE|^^^" + day +
                       "|X^testosterone|50||mg\rRXR|SC^Subcutaneous");
  };
  // Two ids, injections three days apart: known to be of one patient since the tenth.
  const std::string text =
      order("A-1", "SM-0012", "20260201") + order("A-2", "SM-0099", "20260204") +
      message("ADT^A40^ADT_A39", "20260210", "PID|1||SM-0012\rMRG|SM-0099") +
      order("A-3", "SM-0012", "20260209") + order("A-4", "SM-0099", "20260211");
  const std::string file = folder.write("merge.hl7", text);
  const Json all = summary({file, "--history-since", "2025-01-01", "--threads", "2"});
  EXPECT_THAT(complained, HasSubstr("it says that ids are of one patient"));
  EXPECT_EQ(all["input"]["merges"], 1);
  EXPECT_EQ(all["input"]["judged"], 4);
  EXPECT_EQ(rule(all["sides"][0], "rest")["fired"], 1) << "A-4, after A-3 of the other id";
  std::vector<std::string> merge = {"replay", "merge", "--to", "json"};
  for (const std::string shard : {"1", "2", "3"}) {
    merge.push_back(folder / ("merged-" + shard));
    ASSERT_EQ(run({file, "--history-since", "2025-01-01", "--shard", shard + "/3", "--part",
                   merge.back()}),
              0);
  }
  ASSERT_EQ(run_words(merge), 0) << complained;
  EXPECT_EQ(Json::parse(said), all);
}

TEST_F(ReplayOrders, DrawsOrdersForReadersAndTakesTheirLabels) {
  const std::string file = orders("a.ndjson", many_orders());
  const std::string sample = folder / "sample.csv";
  ASSERT_EQ(run({file, "--history-since", "2024-01-01", "--sample", "20", "--labels", sample}), 0)
      << complained;
  std::ostringstream text;
  text << std::ifstream(sample).rdbuf();
  std::string csv = text.str();
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 1 + 4 * 20);
  EXPECT_THAT(csv, Not(HasSubstr("SM-")));
  // A reader who knows: over 80 mg the rule is right to speak, whatever it did.
  std::string back;
  std::istringstream lines(csv);
  for (std::string line; std::getline(lines, line);) {
    const bool large = line.find("\"large\"") != std::string::npos;
    const std::size_t mg = line.find(" mg\"");
    if (large && mg != std::string::npos) {
      const int dose = std::stoi(line.substr(line.rfind('"', mg) + 1));
      line.replace(line.find("A large dose\",\"") + 15, 0, dose > 80 ? "yes" : "no");
    }
    back += line + "\n";
  }
  ASSERT_EQ(run_words({"replay", "labels", sample + ".key", folder.write("read.csv", back), "--to",
                       "json"}),
            0)
      << complained;
  const Json labels = rule(Json::parse(said)["sides"][0], "large")["labels"];
  EXPECT_EQ(labels["fired_read"], 20);
  EXPECT_EQ(labels["fired_right"], 20);
  EXPECT_EQ(labels["silent_read"], 20);
  EXPECT_EQ(labels["silent_missed"], 0);
}

TEST_F(ReplayOrders, SaysBeforeItStartsThatTheReportCannotBeWritten) {
  const std::string file = orders("a.ndjson", {{"A-1", "2026-02-02"}});
  EXPECT_EQ(run({file, "--report", folder / "nowhere/report.html"}), 3);
  EXPECT_THAT(complained, HasSubstr("nowhere/report.html"));
  EXPECT_THAT(said, IsEmpty());
}

TEST_F(ReplayOrders, LeavesNothingInTheTemporaryFolder) {
  const std::filesystem::path before = folder.path() / "temporary";
  std::filesystem::create_directory(before);
  ASSERT_EQ(setenv("TMPDIR", before.c_str(), 1), 0);
  summary({orders("a.ndjson", many_orders()), "--sort"});
  unsetenv("TMPDIR");
  EXPECT_TRUE(std::filesystem::is_empty(before));
}

}  // namespace
}  // namespace meniscus::adapters
