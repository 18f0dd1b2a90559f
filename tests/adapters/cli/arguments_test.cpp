// The command line: what is understood, and that every mistake is answered with what to write.
#include "adapters/cli/arguments.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <ostream>
#include <sstream>
#include <string>
#include <vector>

#include "adapters/cli/help.hpp"
#include "adapters/cli/nearest.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {
namespace {
using ::testing::HasSubstr;

std::vector<std::string> words(const std::string& line) {
  std::istringstream in(line);
  std::vector<std::string> out;
  for (std::string word; in >> word;)
    out.push_back(word);
  return out;
}

TEST(Arguments, ServeTakesItsLimits) {
  const auto got = parse_arguments(
      words("serve --listen [::1]:0 --on-hold ae --connections 5 --in-work 3 --idle 60 "
            "--message-time 2 --fail-at hold --rules r1 --plain-text-network"));
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->command, Command::Serve);
  EXPECT_EQ(got->serve.listen, "[::1]:0");
  EXPECT_EQ(got->on_hold, OnHold::Ae);
  EXPECT_EQ(got->serve.connections, 5U);
  EXPECT_EQ(got->serve.in_work, 3U);
  EXPECT_EQ(got->serve.idle, 60U);
  EXPECT_EQ(got->serve.message_time, 2U);
  EXPECT_TRUE(got->serve.plain_text_network);
}

TEST(Arguments, CheckTakesFilesAndOptionsInAnyOrder) {
  const auto got = parse_arguments(
      words("check a.json --rules r1 b.csv --from csv --to jsonl --fail-at hold --as-of 2026-03-02 "
            "--rules=r2 --only-rules --no-slips --profile feed.json --log info -"));
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->command, Command::Check);
  EXPECT_EQ(got->files, (std::vector<std::string>{"a.json", "b.csv", "-"}));
  EXPECT_EQ(got->rules, (std::vector<std::string>{"r1", "r2"}));
  EXPECT_TRUE(got->only_rules);
  EXPECT_EQ(got->from, FromFormat::Csv);
  EXPECT_EQ(got->to, ToFormat::JsonLines);
  EXPECT_EQ(got->fail_at, engine::Outcome::Hold);
  EXPECT_EQ(engine::format_day(*got->as_of), "2026-03-02");
  EXPECT_FALSE(got->slips);
  EXPECT_EQ(got->profile, "feed.json");
  EXPECT_EQ(got->log, LogLevel::Info);
}

TEST(Arguments, TwoDashesEndTheOptions) {
  const auto got = parse_arguments(words("check --to lines -- -a.json --from.csv"));
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->to, ToFormat::Lines);
  EXPECT_EQ(got->files, (std::vector<std::string>{"-a.json", "--from.csv"}));
}

TEST(Arguments, FhirInAndOut) {
  const auto got = parse_arguments(words("check bundle.json --from fhir --to fhir"));
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->from, FromFormat::Fhir);
  EXPECT_EQ(got->to, ToFormat::Fhir);
  EXPECT_FALSE(parse_arguments(words("check bundle.json --to fhir --on-hold ua")));
}

TEST(Arguments, TheDayOfTheRulesAndTheLeaveBelongToEveryCommandWithRules) {
  for (const char* command : {"check", "rules lint", "rules test", "rules list", "rules page"}) {
    const auto got = parse_arguments(
        words(std::string(command) + " --rules-as-of 2026-03-02 --allow-mute-hold"));
    ASSERT_TRUE(got) << got.error().message;
    EXPECT_EQ(got->rules_as_of, 20514);
    EXPECT_TRUE(got->allow_mute_hold);
    EXPECT_FALSE(got->as_of);
  }
}

TEST(Arguments, LintMayBeStrictAndACodeIsExplained) {
  const auto lint = parse_arguments(words("rules lint our-rules --strict"));
  ASSERT_TRUE(lint) << lint.error().message;
  EXPECT_TRUE(lint->strict);
  EXPECT_EQ(lint->files, std::vector<std::string>{"our-rules"});
  const auto code = parse_arguments(words("rules explain-code R0420"));
  ASSERT_TRUE(code) << code.error().message;
  EXPECT_EQ(code->command, Command::RulesExplainCode);
  EXPECT_EQ(code->code, "R0420");
  EXPECT_FALSE(parse_arguments(words("rules test --strict")));
}

TEST(Arguments, CheckNeedsNothing) {
  const auto got = parse_arguments({"check"});
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_TRUE(got->files.empty());
  EXPECT_EQ(got->from, FromFormat::Auto);
  EXPECT_EQ(got->to, ToFormat::Text);
  EXPECT_TRUE(got->slips);
  EXPECT_EQ(got->fail_at, engine::Outcome::Incomplete);
  EXPECT_FALSE(got->as_of);
}

struct CommandCase {
  std::string_view name, line;
  Command command;
  std::string_view topic;
};
std::ostream& operator<<(std::ostream& os, const CommandCase& c) { return os << c.line; }
const CommandCase kCommands[] = {
    {"Help", "--help", Command::Help, ""},
    {"ShortHelp", "-h", Command::Help, ""},
    {"Version", "--version", Command::Version, ""},
    {"CheckHelp", "check --help", Command::Help, "check"},
    {"RulesHelp", "rules -h", Command::Help, "rules"},
    {"LintHelp", "rules lint --help", Command::Help, "rules"},
    {"Lint", "rules lint", Command::RulesLint, "rules"},
    {"LintPath", "rules lint a.rule b", Command::RulesLint, "rules"},
    {"Test", "rules test --only-rules a.rule", Command::RulesTest, "rules"},
    {"List", "rules list", Command::RulesList, "rules"},
    {"Page", "rules page", Command::RulesPage, "rules"},
    {"Show", "rules show site-rest", Command::RulesShow, "rules"},
    {"Answers", "answers a.jsonl --on b.json c.csv --as-of 2026-03-02", Command::Answers,
     "answers"},
    {"AnswerHelp", "answer --help", Command::Help, "answer"},
    {"Answer",
     "answer a.json --order A-1 --rule r --text yes --by pharmacist --until 2026-06-30 "
     "--answers b.jsonl",
     Command::Answer, "answer"},
    {"AnswerForPatient",
     "answer a.json --patient P --rule r --text yes --by pharmacist --until 2026-06-30 "
     "--answers b.jsonl --only-rules --rules x.rule --profile f.json",
     Command::Answer, "answer"},
    {"ProfileLint", "profile lint feed.json", Command::ProfileLint, "profile"},
    {"Prune", "baseline prune a.jsonl --on b.csv c.csv", Command::BaselinePrune, "baseline"},
    {"Sarif", "check a.csv --to sarif --baseline b.jsonl", Command::Check, "check"},
    {"Junit", "check a.csv --to junit --write-baseline b.jsonl", Command::Check, "check"},
    {"Lines", "check a.csv --to lines", Command::Check, "check"},
    {"ProfileLearn", "profile learn --from hl7 a.hl7", Command::ProfileLearn, "profile"},
};
class Commands : public ::testing::TestWithParam<CommandCase> {};
TEST_P(Commands, AreUnderstood) {
  const auto got = parse_arguments(words(std::string(GetParam().line)));
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->command, GetParam().command);
  EXPECT_EQ(got->help_topic, GetParam().topic);
}
INSTANTIATE_TEST_SUITE_P(Line, Commands, ::testing::ValuesIn(kCommands),
                         [](const auto& info) { return std::string(info.param.name); });

struct MistakeCase {
  std::string_view name, line, answer;
};
std::ostream& operator<<(std::ostream& os, const MistakeCase& c) { return os << c.line; }
const MistakeCase kMistakes[] = {
    {"NoCommand", "", "name a command; `meniscus --help` lists them"},
    {"UnknownCommand", "chekc a.json", "no command `meniscus chekc`, did you mean `check`?"},
    {"FarCommand", "frobnicate", "see `meniscus --help`"},
    {"RulesAlone", "rules",
     "needs one more word, one of lint, test, case, list, show, try, page, format, compare, "
     "compile, explain-code"},
    {"ExplainWithoutFile", "explain --order A-1", "name the file that holds the order"},
    {"ExplainWithoutOrder", "explain orders.csv", "name the order by its id"},
    {"AnswerWithoutFile", "answer --order A-1", "name the file that holds the order"},
    {"AnswerForNobody", "answer a.json", "or, with --patient ID, the patient"},
    {"AnswerToNoRule", "answer a.json --order A", "name the rule that asks"},
    {"AnswerWithoutText", "answer a.json --order A --rule r", "write the answer: --text"},
    {"AnswerByNobody", "answer a.json --order A --rule r --text y", "as a role and not a name"},
    {"AnswerWithoutEnd", "answer a.json --order A --rule r --text y --by p", "--until 2026-06-30"},
    {"AnswerWithoutDay", "answer a.json --order A --rule r --text y --by p --until soon",
     "--until cannot be `soon`; write a day as 2026-03-02"},
    {"AnswerNowhere", "answer a.json --order A --rule r --text y --by p --until 2026-06-30",
     "--answers FILE"},
    {"AnswersOfNothing", "answers", "`meniscus answers FILE`"},
    {"AnswersOfTwo", "answers a b", "name one file of answers"},
    {"CaseFromStandardInput", "rules case - --order A-1", "not from standard input"},
    {"ShareTooLarge", "rules test --need 101%", "--need cannot be `101%`"},
    {"ShareInWords", "rules test --need most", "write a share from 0% to 100%"},
    {"ProfileAlone", "profile", "needs one more word, one of lint, learn"},
    {"HistoryAlone", "history", "one of list, export, import, merge, prune"},
    {"HistoryWithoutStore", "history list", "name one history: `meniscus history list sqlite:"},
    {"ImportWithoutFiles", "history import sqlite:a.db", "name the history and the files"},
    {"MergeOfOne", "history merge sqlite:a.db SM-0012", "name the history, the id that is no"},
    {"PruneTwice", "history prune sqlite:a.db --before 2026-01-01 --keep 90", "write one of them"},
    {"KeepNothing", "history prune sqlite:a.db --keep 0", "a whole number from 1"},
    {"QuarantineAlone", "quarantine", "one of list, retry, discard"},
    {"QuarantineWithoutFolder", "quarantine list", "name the folder"},
    {"DiscardNothing", "quarantine discard held", "or write --all"},
    {"DiscardAllAndOne", "quarantine discard held aa --all", "or write --all"},
    {"KeepWithoutHistory", "serve --on-hold ua --history-keep 400", "name it with --history"},
    {"WindowInWords", "serve --on-hold ua --resend-window long", "a whole number from 0"},
    {"WindowWithoutHistory", "check --to hl7 --on-hold ua --resend-window 60",
     "write --to hl7 and --history with it"},
    {"WindowWithoutAnswers", "check --history sqlite:a.db --resend-window 60",
     "write --to hl7 and --history with it"},
    {"QuarantineOfAnyFormat", "check --to hl7 --on-hold ua --quarantine held",
     "write --from hl7 and --to hl7 with it"},
    {"QuarantineWithoutAnswers", "check --from hl7 --quarantine held",
     "write --from hl7 and --to hl7 with it"},
    {"UnknownRulesCommand", "rules tets", "did you mean `test`?"},
    {"CommandOfAnotherLevel", "rules check one.rule", "there is no command `meniscus rules check`"},
    {"CommandOfAnotherLevelBehindFiles", "profile check a.hl7", "there is no command"},
    {"UnknownOption", "check --form csv", "has no option `--form`, did you mean `--from`?"},
    {"UnknownShort", "check -x", "has no option `-x`; see `meniscus check --help`"},
    {"FormatMistyped", "check --from jsn", "--from cannot be `jsn`; write one of auto, json"},
    {"GradeMistyped", "check --fail-at red", "write one of note, caution, incomplete, clarify"},
    {"NoValue", "check --as-of", "--as-of needs a value"},
    {"Twice", "check --to text --to jsonl", "--to can be given once"},
    {"DateTyped", "check --as-of 02/03/2026", "write a day as 2026-03-02"},
    {"DateImpossible", "check --as-of 2026-02-30", "write a day as 2026-03-02"},
    {"RulesDateTyped", "rules list --rules-as-of tomorrow",
     "--rules-as-of cannot be `tomorrow`; write a day as 2026-03-02"},
    {"MonthIsNoDay", "check --as-of 2026-02", "write a day as 2026-03-02"},
    {"AnswerNotChosen", "check --to hl7", "write --on-hold ua"},
    {"AnswerWithoutHl7", "check --on-hold ua", "write --to hl7 with it"},
    {"OnHoldMistyped", "check --to hl7 --on-hold aa", "write one of ua, ae"},
    {"NoRulesLeft", "check --only-rules", "write --rules PATH with it"},
    {"RuleFileAsOrders", "check --rules a.rule b.rule", "write `--rules b.rule`"},
    {"StdinTwice", "check - -", "can be named once"},
    {"ShowNothing", "rules show", "`meniscus rules show NAME`"},
    {"ShowTwo", "rules show a b", "does not take `b`"},
    {"LearnNothing", "profile learn", "`meniscus profile learn FILE`"},
    {"ReplayOfNothing", "replay", "`meniscus replay FILE...`"},
    {"ReplayMergeOfNothing", "replay merge", "`meniscus replay merge PART...`"},
    {"ReplayShard", "replay a.json --shard 5/4 --part p", "the second of four parts as 2/4"},
    {"ReplayShardWithoutPart", "replay a.json --shard 1/4", "--part part-1.json"},
    {"ReplayOften", "replay a.json --often lots", "a share from 0% to 100%"},
    {"ReplaySampleWithoutFile", "replay a.json --sample 5", "--sample 20 --labels sample.csv"},
    {"ReplayLabelsOfNobody", "replay labels a.key", "SAMPLE.csv.key READER.csv"},
    {"ReplayThreads", "replay a.json --threads 0", "a whole number from 1 to"},
    {"ReplayTo", "replay a.json --to hl7", "write one of text, json"},
    {"ServeWithoutOnHold", "serve --listen 127.0.0.1:2575", "--on-hold ua"},
    {"ServeWithAFile", "serve --on-hold ua orders.hl7", "does not take `orders.hl7`"},
    {"NoConnections", "serve --on-hold ua --connections 0", "a whole number from 1 to"},
    {"HalfASecond", "serve --on-hold ua --idle 0.5", "--idle cannot be `0.5`"},
    {"CompareOfOneSet", "rules compare a", "name two rule sets"},
    {"ReportOfACheck", "check --report x.html", "`meniscus check` has no option `--report`"},
    {"BaselineAlone", "baseline", "needs one more word, one of prune"},
    {"PruneWithoutOrders", "baseline prune a.jsonl", "prune FILE --on ORDERS...`"},
    {"PruneOfTwo", "baseline prune a.jsonl b.jsonl --on c.csv", "name one baseline"},
    {"BaselineForText", "check a.csv --baseline b.jsonl", "write --to lines, --to sarif"},
    {"BaselineForMessages", "check a.csv --write-baseline b --to hl7 --on-hold ua", "--to junit"},
};
class Mistakes : public ::testing::TestWithParam<MistakeCase> {};
TEST_P(Mistakes, AreAnsweredWithWhatToWrite) {
  const auto got = parse_arguments(words(std::string(GetParam().line)));
  ASSERT_FALSE(got);
  EXPECT_EQ(got.error().code, engine::Errc::Usage);
  EXPECT_THAT(got.error().message, HasSubstr(std::string(GetParam().answer)));
}
INSTANTIATE_TEST_SUITE_P(Line, Mistakes, ::testing::ValuesIn(kMistakes),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Help, NamesEveryOptionOfCheckAndEveryExitStatus) {
  const std::string page = help_page("check");
  for (const std::string option :
       {"--rules", "--only-rules", "--from", "--to", "--on-hold", "--fail-at", "--as-of",
        "--rules-as-of", "--allow-mute-hold", "--profile", "--answers", "--no-slips", "--log"}) {
    EXPECT_THAT(page, HasSubstr(option));
    // What the page names is understood: an option that is not known would be said.
    const auto got = parse_arguments({"check", option});
    if (!got) {
      EXPECT_THAT(got.error().message, ::testing::Not(HasSubstr("has no option")));
    }
  }
  const std::string first = help_page("");
  for (const std::string part :
       {"check", "rules lint", "rules test", "profile learn", "Example", "0 nothing", "1 something",
        "2 some", "3 bad", "4 internal", "does not replace the judgement of licensed"}) {
    EXPECT_THAT(first, HasSubstr(part));
  }
}

TEST(DidYouMean, ForgivesASlipAndNoMore) {
  const std::vector<std::string_view> known = {"lint", "test", "list", "show"};
  EXPECT_EQ(did_you_mean("lnit", known), ", did you mean `lint`?");
  EXPECT_EQ(did_you_mean("teest", known), ", did you mean `test`?");
  EXPECT_EQ(did_you_mean("frobnicate", known), "");
}

}  // namespace
}  // namespace meniscus::adapters
