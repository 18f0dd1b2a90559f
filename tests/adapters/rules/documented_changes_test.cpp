// The examples of docs/rule-language.md about dates of force and local changes, as they stand
// there.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;

/// The indented lines of the section under `heading`, without their indent.
std::string code_of(const std::string& heading) {
  const auto page = read_file(MENISCUS_SOURCE_DIR "/docs/rule-language.md");
  if (!page) return {};
  const std::size_t begin = page->find("\n## " + heading + "\n");
  if (begin == std::string::npos) return {};
  const std::size_t end = page->find("\n## ", begin + 1);
  std::string code;
  std::size_t at = page->find('\n', begin + 1) + 1;
  while (at < end) {
    const std::size_t stop = page->find('\n', at);
    const std::string line = page->substr(at, stop - at);
    if (line.starts_with("    ")) code += line.substr(4) + "\n";
    if (line.empty() && !code.empty()) code += "\n";
    at = stop + 1;
  }
  return code;
}

/// A folder of its own that is gone at the end.
class Documented : public ::testing::Test {
 protected:
  void SetUp() override { fs::create_directories(folder_); }
  void TearDown() override { fs::remove_all(folder_); }

  void write(const std::string& name, const std::string& text) {
    std::ofstream(folder_ / name) << text;
  }

  LoadedRules load(const char* day, const std::vector<std::string>& paths) {
    LoadOptions options;
    options.shipped = MENISCUS_SOURCE_DIR "/rules";
    options.rules_day = engine::parse_date(day)->day();
    return load_rules(paths, re2_patterns(), options);
  }

  fs::path folder_ =
      fs::path(::testing::TempDir()) /
      ("documented-" + std::to_string(::testing::UnitTest::GetInstance()->random_seed()) +
       ::testing::UnitTest::GetInstance()->current_test_info()->name());
};

void expect_no_diagnostics(const LoadedRules& loaded) {
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics)
    ADD_FAILURE() << engine::render(diagnostic);
}

TEST_F(Documented, VersionsTakeTurnsOnTheDayThatIsWritten) {
  write("versions.rule", code_of("Dates of force"));
  const std::string path = (folder_ / "versions.rule").string();
  for (const auto& [day, value] :
       {std::pair("2026-06-30", "0.5 mL"), std::pair("2026-07-01", "0.6 mL")}) {
    const LoadedRules loaded = load(day, {path});
    expect_no_diagnostics(loaded);
    ASSERT_NE(loaded.program, nullptr);
    ASSERT_EQ(loaded.program->settings.size(), 1U);
    EXPECT_EQ(loaded.program->settings[0].value.text, value);
    EXPECT_EQ(loaded.program->rules.size(), 1U);
  }
  EXPECT_TRUE(load("2026-02-28", {path}).program->rules.empty());
}

TEST_F(Documented, EveryChangeIsInForceOnTheShippedRules) {
  write("local.rule", code_of("Local changes"));
  const auto table = read_file(MENISCUS_SOURCE_DIR "/rules/substances.csv");
  ASSERT_TRUE(table);
  const std::string head = table->substr(0, table->find('\n') + 1);
  std::string row = "our-own-product";
  row.append(static_cast<std::size_t>(std::count(head.begin(), head.end(), ',')), ',');
  write("our-products.csv", head + row + "\n");
  const LoadedRules loaded =
      load("2026-03-02", {(folder_ / "local.rule").string(), MENISCUS_SOURCE_DIR "/rules"});
  expect_no_diagnostics(loaded);
  ASSERT_NE(loaded.program, nullptr);
  std::vector<engine::ChangeKind> kinds;
  for (const engine::LocalChange& change : loaded.program->changes) {
    EXPECT_FALSE(change.over) << change.what;
    kinds.push_back(change.kind);
  }
  using engine::ChangeKind;
  EXPECT_THAT(kinds,
              ::testing::ElementsAre(ChangeKind::Adjust, ChangeKind::Regrade, ChangeKind::Mute,
                                     ChangeKind::Retire, ChangeKind::Extend, ChangeKind::Trial));
}

}  // namespace
}  // namespace meniscus::adapters
