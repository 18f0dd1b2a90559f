// Rules that were compiled beforehand: used while nothing has changed, passed over as soon as
// something has, and in no way to be told from rules compiled from their text.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "adapters/cli/run.hpp"
#include "adapters/compiled/compiled_store.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {
namespace fs = std::filesystem;
using ::testing::HasSubstr;

constexpr std::int64_t kDay = 20605;  // 2026-06-01

const std::string kRule = R"(table sites from "sites.csv"
setting most = 2 mL between 1 mL and 3 mL "Largest volume"
rule volume-large "A large volume"
    concerns orders where route is one of subcutaneous, intramuscular
    raise caution when volume > most
        say "{volume} is more than {most}."
        blames volume
    without volume ignore
    without route ignore
    cite "common practice"
    owner "pharmacy lead"   reviewed 2026-05-01   review by 2027-05-01
)";
const std::string kSites = "site,parent,region\nabdomen,,\nthigh,,\n";

class CompiledLoad : public ::testing::Test {
 protected:
  CompiledLoad() {
    folder.write("sites.csv", kSites);
    folder.write("volume.rule", kRule);
    options.rules_day = kDay;
  }

  [[nodiscard]] std::vector<std::string> paths() const { return {folder.path().string()}; }
  [[nodiscard]] std::string file() const { return folder / std::string(kCompiledName); }

  void compile() {
    const CompiledBytes made = compile_rules(paths(), re2_patterns(), options);
    ASSERT_FALSE(made.bytes.empty());
    ASSERT_TRUE(store_compiled(made.loaded.compiled.file, made.bytes));
  }
  [[nodiscard]] LoadedRules load() const { return load_rules(paths(), re2_patterns(), options); }

  void expect_stale(const std::string& reason) const {
    const LoadedRules loaded = load();
    EXPECT_EQ(loaded.compiled.use, CompiledUse::Stale);
    EXPECT_THAT(loaded.compiled.reason, HasSubstr(reason));
    EXPECT_EQ(damage_sentence(loaded.compiled), "");
    LoadOptions from_text = options;
    from_text.use_compiled = false;
    const LoadedRules text = load_rules(paths(), re2_patterns(), from_text);
    ASSERT_NE(loaded.program, nullptr);
    EXPECT_EQ(loaded.program->hash, text.program->hash);
  }

  testing::TestFolder folder;
  LoadOptions options;
};

TEST_F(CompiledLoad, IsUsedWhileNothingHasChanged) {
  EXPECT_EQ(load().compiled.use, CompiledUse::NotThere);
  const LoadedRules text = load();
  compile();
  const LoadedRules loaded = load();
  EXPECT_EQ(loaded.compiled.use, CompiledUse::Used);
  ASSERT_NE(loaded.program, nullptr);
  EXPECT_EQ(engine::print(*loaded.program), engine::print(*text.program));
  EXPECT_EQ(loaded.program->hash, text.program->hash);
  EXPECT_EQ(loaded.files, text.files);
  struct stat status {};
  ASSERT_EQ(::stat(file().c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777U, 0644U);
}

TEST_F(CompiledLoad, AnEditedRuleIsTheNewRule) {
  compile();
  folder.write("volume.rule", kRule + "# a note\n");
  expect_stale("volume.rule has changed");
  std::string same_size = kRule;
  same_size[same_size.find("2 mL")] = '1';
  folder.write("volume.rule", same_size);
  expect_stale("volume.rule has changed");
  EXPECT_EQ(load().program->settings.at(0).value.text, "1 mL");
}

TEST_F(CompiledLoad, AnEditedOrMissingTableIsNoticed) {
  compile();
  folder.write("sites.csv", kSites + "deltoid,,\n");
  expect_stale("sites.csv has changed");
  fs::remove(folder / "sites.csv");
  EXPECT_EQ(load().compiled.use, CompiledUse::Stale);
  EXPECT_EQ(load().program, nullptr);
}

TEST_F(CompiledLoad, ANewAndARemovedFileAreNoticed) {
  folder.write("other.rule", "setting other = 1 mL \"Another\"\n");
  compile();
  folder.write("third.rule", "setting third = 1 mL \"A third\"\n");
  expect_stale("another set of rule files");
  fs::remove(folder / "third.rule");
  EXPECT_EQ(load().compiled.use, CompiledUse::Used);
  fs::remove(folder / "other.rule");
  expect_stale("another set of rule files");
}

TEST_F(CompiledLoad, ItIsOfTheDaysThatGiveTheSameRules) {
  folder.write("site.rule",
               "adjust most = 3 mL because \"Protocol\" by \"clinical lead\" until 2026-08-31\n");
  compile();
  constexpr std::int64_t kLast = 20696;  // 2026-08-31
  const auto use_on = [&](std::int64_t day) {
    options.rules_day = day;
    const LoadedRules loaded = load();
    EXPECT_TRUE(loaded.program == nullptr || loaded.program->rules_day == day);
    return loaded.compiled.use;
  };
  EXPECT_EQ(use_on(kDay + 1), CompiledUse::Used);
  EXPECT_EQ(use_on(kLast), CompiledUse::Used);
  EXPECT_EQ(load().program->settings.at(0).value.text, "3 mL");
  EXPECT_EQ(use_on(kLast + 1), CompiledUse::Stale);
  EXPECT_EQ(load().program->settings.at(0).value.text, "2 mL");
  // 400 days before its end a change may not be decided yet: the rules are wrong on that day.
  EXPECT_EQ(use_on(kLast - engine::kLongestDecision), CompiledUse::Used);
  EXPECT_EQ(use_on(kLast - engine::kLongestDecision - 1), CompiledUse::Stale);
  EXPECT_EQ(load().program, nullptr);
}

TEST_F(CompiledLoad, VersionsOfARuleEndItsDays) {
  folder.write("later.rule", "setting later = 1 mL from 2026-07-01 \"Later\"\n");
  options.rules_day = 20636;  // 2026-07-02, so that it is in force
  compile();
  EXPECT_EQ(load().compiled.use, CompiledUse::Used);
  options.rules_day = 20634;  // 2026-06-30
  EXPECT_EQ(load().compiled.use, CompiledUse::Stale);
}

TEST_F(CompiledLoad, AnotherLeaveIsAnotherProgram) {
  compile();
  options.allow_mute_hold = true;
  expect_stale("--allow-mute-hold");
}

TEST_F(CompiledLoad, LintAndRulesWithoutChangesComeFromTheText) {
  compile();
  options.lint = true;
  EXPECT_EQ(load().compiled.use, CompiledUse::NotThere);
  options.lint = false;
  options.apply_changes = false;
  EXPECT_EQ(load().compiled.use, CompiledUse::NotThere);
}

TEST_F(CompiledLoad, ADamagedFileIsSaidAndDoesNoHarm) {
  compile();
  std::string bytes = **read_compiled(file());
  bytes[bytes.size() / 2] = static_cast<char>(bytes[bytes.size() / 2] ^ 1);
  folder.write(std::string(kCompiledName), bytes);
  const LoadedRules loaded = load();
  EXPECT_EQ(loaded.compiled.use, CompiledUse::Damaged);
  EXPECT_NE(loaded.program, nullptr);
  EXPECT_THAT(damage_sentence(loaded.compiled), HasSubstr(file() + " was not used"));
  folder.write(std::string(kCompiledName), "");
  EXPECT_EQ(load().compiled.use, CompiledUse::Damaged);
  fs::remove(file());
  fs::create_directory(file());
  EXPECT_EQ(load().compiled.use, CompiledUse::Damaged);
  EXPECT_NE(load().program, nullptr);
}

TEST_F(CompiledLoad, RulesWithWarningsAreNotKeptCompiled) {
  folder.write("site.rule",
               "adjust most = 3 mL because \"Protocol\" by \"clinical lead\" until 2026-05-31\n");
  const CompiledBytes made = compile_rules(paths(), re2_patterns(), options);
  EXPECT_NE(made.loaded.program, nullptr);
  EXPECT_EQ(made.loaded.diagnostics.size(), 1U);
  EXPECT_TRUE(made.bytes.empty());
}

TEST_F(CompiledLoad, AFolderThatTakesNoFileLeavesThingsAsTheyWere) {
  const std::string nowhere = folder / "not-there/.compiled-rules";
  const auto stored = store_compiled(nowhere, "x");
  ASSERT_FALSE(stored);
  EXPECT_THAT(stored.error().message, HasSubstr(nowhere));
  if (::geteuid() == 0) return;  // root may write everywhere
  fs::permissions(folder.path(), fs::perms::owner_read | fs::perms::owner_exec);
  EXPECT_FALSE(store_compiled(file(), "x"));
  EXPECT_EQ(load().compiled.use, CompiledUse::NotThere);
  EXPECT_NE(load().program, nullptr);
  fs::permissions(folder.path(), fs::perms::owner_all);
}

TEST(CompiledPath, StandsBesideTheFirstPath) {
  const testing::TestFolder folder;
  const std::string rule = folder.write("a.rule", "");
  const std::string beside = folder / std::string(kCompiledName);
  EXPECT_EQ(compiled_path({folder.path().string(), "/elsewhere"}), beside);
  EXPECT_EQ(compiled_path({rule, "/elsewhere"}), beside);
  EXPECT_EQ(compiled_path({"a.rule"}), kCompiledName);
}

/// The demo's orders under all shipped rules, in two forms: the same bytes.
TEST(CompiledShipped, VerdictsAreTheSameToTheByte) {
  const testing::TestFolder folder;
  const std::string source = MENISCUS_SOURCE_DIR;
  fs::copy(source + "/rules", folder / "rules", fs::copy_options::recursive);
  fs::remove(folder / "rules/.compiled-rules");
  const auto run = [&](std::vector<std::string> arguments) {
    testing::CapturedConsole console;
    console.today = kDay;
    for (const char* const each : {"--only-rules", "--rules"})
      arguments.emplace_back(each);
    arguments.push_back(folder / "rules");
    const ExitStatus status = run_program(arguments, console);
    return console.said + console.complained + std::to_string(static_cast<int>(status));
  };
  const auto check = [&] {
    std::string all;
    for (const char* const to : {"text", "jsonl", "sarif"}) {
      for (const char* const orders : {"orders.ndjson", "orders.hl7", "orders.csv"})
        all += run({"check", source + "/tests/fixtures/demo/" + orders, "--to", to});
    }
    const std::string first = source + "/tests/fixtures/demo/one.json";
    all += run({"rules", "list"}) + run({"rules", "page"}) + run({"rules", "test"});
    return all + run({"explain", first});
  };
  const std::string before = check();
  const auto files =
      std::ranges::count_if(std::filesystem::recursive_directory_iterator(folder / "rules"),
                            [](const auto& entry) { return entry.path().extension() == ".rule"; });
  EXPECT_THAT(run({"rules", "compile"}),
              HasSubstr(" rules of " + std::to_string(files) + " files"));
  EXPECT_THAT(run({"rules", "compile", "--check"}), HasSubstr("up to date"));
  EXPECT_GT(before.size(), 10000U);
  EXPECT_TRUE(check() == before);
  EXPECT_THAT(run({"rules", "compile", "--remove"}), HasSubstr("removed"));
  EXPECT_THAT(run({"rules", "compile", "--check"}), HasSubstr("not there"));
}

}  // namespace
}  // namespace meniscus::adapters
