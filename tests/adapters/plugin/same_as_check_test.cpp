// The plug-in says what `meniscus check` says, byte for byte: the program is run beside it.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/adapters/plugin/plugin_host.hpp"

namespace meniscus::plugin_tests {
namespace {

namespace fs = std::filesystem;

const std::string kDay = "2026-03-02";

Pairs shipped(const Pairs& more = {}) {
  Pairs all = {{"only-rules", "yes"}, {"rules", kRules}, {"as-of", kDay}, {"history", "input"}};
  all.insert(all.end(), more.begin(), more.end());
  return all;
}

std::string in_quotes(const fs::path& path) { return " '" + path.string() + "'"; }

/// Without what an input never carries: it stands in the first verdict of `check`, and a host asks
/// for it once (meniscus_checker_never_assessed).
std::string without_never(std::string verdicts) {
  constexpr std::string_view kBegin = ",\"never_assessed\":[";
  constexpr std::string_view kEnd = "]}]";
  const std::size_t begin = verdicts.find(kBegin);
  if (begin == std::string::npos) return verdicts;
  return verdicts.erase(begin, verdicts.find(kEnd, begin) + kEnd.size() - begin);
}

/// What it says on standard error, of inputs and not of orders, is for people.
std::string program_says(const fs::path& input, const std::string& to) {
  return without_never(run_program("check" + in_quotes(input) + " --only-rules --rules" +
                                   in_quotes(kRules) + " --as-of " + kDay + " --to " + to +
                                   " 2>/dev/null"));
}

std::size_t digits_at(const std::string& text, std::size_t at) {
  const std::size_t end = std::min(text.find_first_not_of("0123456789", at), text.size());
  return end - std::min(at, end);
}

/// Without the time of an answer (MSH-7), its offset, and the number made of it (MSH-10).
std::string without_time(std::string answers) {
  constexpr std::size_t kTime = 14;   // 20260302091400
  constexpr std::size_t kOffset = 5;  // +0100
  for (std::size_t at = 0; at < answers.size(); ++at) {
    const std::size_t digits = digits_at(answers, at);
    if (digits == kTime) {
      const bool is_signed =
          answers.substr(at + kTime, 1) == "+" || answers.substr(at + kTime, 1) == "-";
      const bool has_offset = is_signed && digits_at(answers, at + kTime + 1) == kOffset - 1;
      answers.replace(at, kTime + (has_offset ? kOffset : 0), "TIME");
    } else {
      at += digits;
    }
  }
  return answers;
}

std::string without_lines(std::string verdicts) {
  constexpr std::string_view kLine = "\"line\":";
  for (std::size_t at = verdicts.find(kLine); at != std::string::npos;
       at = verdicts.find(kLine, at))
    verdicts.erase(at, kLine.size() + digits_at(verdicts, at + kLine.size()));
  return verdicts;
}

/// All files of the fixtures that hold orders.
std::vector<fs::path> inputs() {
  std::vector<fs::path> all;
  for (const char* folder : {"demo", "orders", "hl7"}) {
    for (const fs::directory_entry& entry : fs::directory_iterator(kFixtures / folder)) {
      const std::string kind = entry.path().extension();
      if (kind == ".ndjson" || kind == ".json" || kind == ".csv" || kind == ".hl7")
        all.push_back(entry.path());
    }
  }
  return all;
}

TEST(SameAsCheck, JsonLinesOfEveryFixture) {
  const Settings wanted = settings(shipped());
  const Rules rules = load(wanted.get());
  const std::vector<fs::path> all = inputs();
  ASSERT_GT(all.size(), 30U) << "the fixtures have moved";
  std::size_t orders = 0;
  for (const fs::path& input : all) {
    const Checker checker = make_checker(rules, wanted);
    const Verdicts verdicts = check(checker, read(input));
    ASSERT_NE(verdicts, nullptr) << input << meniscus_checker_error(checker.get());
    EXPECT_EQ(jsonl(verdicts), program_says(input, "jsonl")) << input;
    orders += meniscus_verdicts_count(verdicts.get());
  }
  EXPECT_GT(orders, 60U);
}

TEST(SameAsCheck, AnswersToHl7Messages) {
  for (const std::string on_hold : {"ua", "ae"}) {
    const Settings wanted = settings(shipped({{"on-hold", on_hold}}));
    const Rules rules = load(wanted.get());
    for (const fs::path& input : inputs()) {
      if (input.extension() != ".hl7") continue;
      const Checker checker = make_checker(rules, wanted);
      const Verdicts verdicts = check(checker, read(input), MENISCUS_HL7);
      EXPECT_EQ(without_time(hl7(verdicts)),
                without_time(program_says(input, "hl7 --on-hold " + on_hold)))
          << input;
    }
  }
}

TEST(SameAsCheck, FhirThatIsNamed) {
  const Settings wanted = settings(shipped({}));
  const Rules rules = load(wanted.get());
  std::size_t orders = 0;
  for (const auto& entry : fs::directory_iterator(kFixtures / "fhir")) {
    if (!entry.path().filename().string().starts_with("Medication")) continue;
    const Checker checker = make_checker(rules, wanted);
    const Verdicts verdicts = check(checker, read(entry.path()), MENISCUS_FHIR);
    EXPECT_EQ(jsonl(verdicts), program_says(entry.path(), "jsonl --from fhir")) << entry.path();
    orders += meniscus_verdicts_count(verdicts.get());
  }
  EXPECT_GT(orders, 10U);
}

TEST(SameAsCheck, WithAStore) {
  const Folder folder;
  const fs::path input = kFixtures / "demo" / "orders.ndjson";
  const Settings wanted = settings(shipped({{"history", "sqlite:" + (folder / "ours.db")}}));
  const Rules rules = load(wanted.get());
  for (int run = 0; run < 2; ++run) {
    const Checker checker = make_checker(rules, wanted);  // gives the store back each time
    EXPECT_EQ(jsonl(check(checker, read(input))),
              program_says(input, "jsonl --history sqlite:" + (folder / "theirs.db")));
  }
}

/// A setting, and the option that says the same to the program.
struct Option {
  const char* name;
  Pairs settings;
  std::string words;
  std::string input;         // below tests/
  std::string profile = {};  // its text, where there is one
};
class SettingsAreOptions : public ::testing::TestWithParam<Option> {};

TEST_P(SettingsAreOptions, AndSayTheSame) {
  const Option& option = GetParam();
  const Folder folder;
  const fs::path input = kSource / "tests" / option.input;
  Pairs all = {{"history", "input"}, {"as-of", kDay}, {"shipped-rules", kRules}};
  all.insert(all.end(), option.settings.begin(), option.settings.end());
  std::string words = option.words;
  if (!option.profile.empty()) {
    all.emplace_back("profile", folder.write("feed.json", option.profile));
    words += " --profile" + in_quotes(folder / "feed.json");
  }
  const Settings wanted = settings(all);
  const Checker checker = make_checker(load(wanted.get()), wanted);
  const std::string said = jsonl(check(checker, read(input)));
  const std::string command = "check" + in_quotes(input) + " --as-of " + kDay + " --to jsonl ";
  const std::string rules = "MENISCUS_RULES='" + kRules + "'";
  EXPECT_EQ(said, run_program(command + words + " 2>/dev/null", rules));
  EXPECT_NE(said, run_program(command + " 2>/dev/null", rules)) << "the option has no effect here";
}

const std::string kGolden = (kSource / "tests" / "golden").string();

INSTANTIATE_TEST_SUITE_P(
    Each, SettingsAreOptions,
    ::testing::Values(
        Option{"Slips", {{"slips", "no"}}, "--no-slips", "fixtures/demo/orders.ndjson"},
        Option{"Profile",
               {},
               "",
               "golden/cases/decimal_comma/orders.ndjson",
               R"({"name":"a","decimal":"comma"})"},
        Option{"LocalChanges",
               {{"rules", kGolden + "/shipped-changes.rule"}},
               "--rules " + kGolden + "/shipped-changes.rule",
               "fixtures/demo/orders.ndjson"},
        Option{"HoldsMayBeMuted",
               {{"rules", kGolden + "/shipped-changes.rule"}, {"allow-mute-hold", "yes"}},
               "--allow-mute-hold --rules " + kGolden + "/shipped-changes.rule",
               "fixtures/demo/orders.ndjson"},
        Option{"RulesOfAnotherDay",
               {{"rules", kGolden + "/shipped-changes.rule"}, {"rules-as-of", "2027-03-02"}},
               "--rules-as-of 2027-03-02 --rules " + kGolden + "/shipped-changes.rule",
               "fixtures/demo/orders.ndjson"},
        Option{"OtherRules",
               {{"only-rules", "yes"}, {"rules", kGolden + "/rules"}},
               "--only-rules --rules " + kGolden + "/rules",
               "fixtures/demo/orders.ndjson"},
        Option{"Answers",
               {{"only-rules", "yes"},
                {"rules", kGolden + "/rules"},
                {"answers", kGolden + "/cases/answered_jsonl/answers.jsonl"}},
               "--only-rules --rules " + kGolden + "/rules --answers " + kGolden +
                   "/cases/answered_jsonl/answers.jsonl",
               "golden/cases/answered_jsonl/orders.ndjson"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(SameAsCheck, InOneCallOrInMany) {
  const Settings wanted = settings(shipped());
  const Rules rules = load(wanted.get());
  const std::string text = read(kFixtures / "demo" / "orders.ndjson");
  const std::string whole = jsonl(check(make_checker(rules, wanted), text));
  const Checker checker = make_checker(rules, wanted);
  std::string pieces;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find('\n', at) + 1;
    pieces += jsonl(check(checker, std::string_view(text).substr(at, end - at)));
    at = end;
  }
  // The lines of the input are the only difference.
  EXPECT_EQ(without_lines(pieces), without_lines(whole));
}

TEST(SameAsCheck, WithoutAPolicyNoMessageIsAnswered) {
  const Settings wanted = settings(shipped());
  const Rules rules = load(wanted.get());
  const std::string message = read(kFixtures / "demo" / "orders.hl7");
  EXPECT_EQ(hl7(check(make_checker(rules, wanted), message)), "(none)");
  const Settings ua = settings(shipped({{"on-hold", "ua"}}));
  EXPECT_EQ(hl7(check(make_checker(rules, ua), order("A-1", kDay))), "(none)") << "JSON";
}

}  // namespace
}  // namespace meniscus::plugin_tests
