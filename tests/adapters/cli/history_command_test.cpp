// `meniscus history`: what goes in comes out, and what is said of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

constexpr std::int64_t kToday = 20514;  // 2026-03-02

class HistoryCommand : public ::testing::Test {
 public:
  int run(std::vector<std::string> words) {
    const std::vector<std::string> loaded = {"--only-rules", "--rules",
                                             MENISCUS_SOURCE_DIR "/rules"};
    const bool rules = words[1] == "import" || words[1] == "prune";
    if (rules) words.insert(words.end(), loaded.begin(), loaded.end());
    testing::CapturedConsole console;
    console.today = kToday;
    const ExitStatus status = run_program(words, console);
    said = console.said;
    complained = console.complained;
    return static_cast<int>(status);
  }
  static std::string order(const std::string& id, const std::string& day,
                           const std::string& patient) {
    return R"({"order":{"id":")" + id + R"(","placed":")" + day + R"("},"patient":{"id":")" +
           patient + R"("},"substance":{"code":"testosterone-cypionate"},"dose":"50 mg"})" + "\n";
  }
  static std::string weekly(const std::string& id, const std::string& day,
                            const std::string& patient) {
    std::string text = order(id, day, patient);
    text.insert(text.rfind('}'), R"(,"strength":"200 mg/mL","volume":"0.25 mL","site":"abdomen",)"
                                 R"("route":"subcutaneous","schedule":{"every":"1 wk"})");
    return text;
  }
  /// Two orders of SM-0012, the later one first, and one of SM-0013.
  [[nodiscard]] std::string year() const {
    return folder.write("year.ndjson", order("A-2", "2025-06-02", "SM-0012") +
                                           order("A-1", "2025-05-26", "SM-0012") +
                                           order("B-1", "2025-07-01", "SM-0013"));
  }

  testing::TestFolder folder;
  std::string store = "sqlite:" + (folder / "history.db");
  std::string said;
  std::string complained;
};

TEST_F(HistoryCommand, ImportsIntoAnEmptyHistoryFromItsFirstDayOn) {
  EXPECT_EQ(run({"history", "import", store, year()}), 0) << complained;
  EXPECT_EQ(said, "3 orders imported; the history is whole since 2025-05-26\n");
  EXPECT_EQ(run({"history", "list", store}), 0);
  EXPECT_EQ(said, store +
                      ": 3 orders of 2 patients, whole since 2025-05-26; 0 answers kept; 0 "
                      "merged ids\n");
}

TEST_F(HistoryCommand, AnImportIntoAHistoryThatHasBegunDoesNotSayThatItIsWhole) {
  const std::string late = folder.write("late.ndjson", order("C-1", "2026-01-01", "SM-0012"));
  EXPECT_EQ(run({"history", "import", store, late}), 0);
  EXPECT_EQ(run({"history", "import", store, year()}), 0);
  EXPECT_THAT(said, HasSubstr("the history is whole since 2026-01-01"));
  EXPECT_THAT(complained, HasSubstr("say so with --history-since 2025-05-26"));
  EXPECT_EQ(run({"history", "import", store, year(), "--history-since", "2025-05-01"}), 0);
  EXPECT_THAT(said, HasSubstr("the history is whole since 2025-05-01"));
  EXPECT_EQ(complained, "");
  run({"history", "list", store});
  EXPECT_THAT(said, HasSubstr("4 orders of 2 patients")) << "what came twice is kept once";
}

TEST_F(HistoryCommand, WhatIsExportedCanBeImported) {
  run({"history", "import", store, year()});
  EXPECT_EQ(run({"history", "export", store}), 0);
  const std::string exported = said;
  EXPECT_THAT(exported, StartsWith(R"({"order.id":"A-2")"));
  const std::string other = "sqlite:" + (folder / "other.db");
  EXPECT_EQ(run({"history", "import", other, folder.write("all.ndjson", exported)}), 0);
  run({"history", "export", other});
  EXPECT_EQ(said, exported);
}

TEST_F(HistoryCommand, MergesTwoPatients) {
  run({"history", "import", store, year()});
  EXPECT_EQ(run({"history", "merge", store, "SM-0013", "SM-0012"}), 0);
  EXPECT_EQ(said, "the orders of SM-0013 stand under SM-0012 now\n");
  EXPECT_EQ(run({"history", "list", store, "--patient", "SM-0013"}), 0);
  EXPECT_THAT(said, HasSubstr(R"("order.id":"A-1")"));
  EXPECT_THAT(said, HasSubstr(R"("order.id":"B-1")"));
  EXPECT_THAT(said, Not(HasSubstr(R"("patient.id":"SM-0013")")))
      << "under the id that the patient has now";
  EXPECT_EQ(run({"history", "merge", store, "SM-0013", "SM-0012"}), 0);
  EXPECT_THAT(said, HasSubstr("one patient already"));
}

TEST_F(HistoryCommand, MergesGoWithAnExport) {
  run({"history", "import", store, year()});
  run({"history", "merge", store, "SM-0013", "SM-0012"});
  EXPECT_EQ(run({"history", "export", store}), 0);
  const std::string exported = said;
  EXPECT_THAT(exported, StartsWith(R"({"merge":{"former":"SM-0013","patient":"SM-0012"}})"));
  const std::string other = "sqlite:" + (folder / "other.db");
  EXPECT_EQ(run({"history", "import", other, folder.write("all.ndjson", exported)}), 0);
  EXPECT_THAT(said, HasSubstr("3 orders imported, 1 merged id; the history is whole since"));
  run({"history", "list", other});
  EXPECT_THAT(said, HasSubstr("1 merged id"));
  EXPECT_EQ(run({"history", "list", other, "--patient", "SM-0013"}), 0);
  EXPECT_THAT(said, StartsWith(R"({"merge":{"former":"SM-0013","patient":"SM-0012"}})"));
  EXPECT_THAT(said, HasSubstr(R"("order.id":"A-1")"));
  run({"history", "export", other});
  EXPECT_EQ(said, exported);
}

/// An order that names the former id is judged by all of the patient's orders.
TEST_F(HistoryCommand, AnOrderOfAFormerIdIsJudgedTheSameWithTheImportedHistory) {
  const std::vector<std::string> rules = {"--only-rules", "--rules", MENISCUS_SOURCE_DIR "/rules"};
  const auto check = [&](const std::string& place) {
    const std::string next = folder.write("next.ndjson", weekly("A-3", "2025-06-03", "SM-0013"));
    std::vector<std::string> words = {"check", next, "--to", "jsonl", "--history", place};
    words.insert(words.end(), rules.begin(), rules.end());
    run(words);
    return said;
  };
  const std::string orders = folder.write("one.ndjson", weekly("A-2", "2025-06-02", "SM-0012"));
  const std::string other = "sqlite:" + (folder / "other.db");
  const std::string since = "2020-01-01";
  run({"history", "import", store, orders, "--history-since", since});
  run({"history", "merge", store, "SM-0013", "SM-0012"});
  run({"history", "export", store});
  run({"history", "import", other, folder.write("all.ndjson", said), "--history-since", since});
  const std::string first = check(store);
  EXPECT_THAT(first, HasSubstr("one-active-order")) << "the order of the day before is seen";
  EXPECT_EQ(check(other), first);
}

TEST_F(HistoryCommand, SaysWhatOfAnImportIsNotNew) {
  run({"history", "import", store, year()});
  EXPECT_EQ(run({"history", "import", store, year()}), 0);
  EXPECT_EQ(said,
            "0 orders imported, 3 were there already; the history is whole since 2025-05-26\n");
  const std::string nothing = folder.write(
      "nothing.ndjson", R"({"order":{"id":"C-1","placed":"2025-08-01"},"dose":"50 mg"})"
                        "\n");
  EXPECT_EQ(run({"history", "import", store, nothing}), 0);
  EXPECT_THAT(said, HasSubstr("0 orders imported, 1 names no patient; "));
}

TEST_F(HistoryCommand, SaysThatAPatientIsNotThere) {
  run({"history", "import", store, year()});
  EXPECT_EQ(run({"history", "list", store, "--patient", "SM-0099"}), 3);
  EXPECT_THAT(complained, HasSubstr("holds nothing of a patient `SM-0099`"));
  EXPECT_EQ(run({"history", "merge", store, "SM-0098", "SM-0099"}), 3);
  EXPECT_THAT(complained, HasSubstr("nothing was merged"));
  EXPECT_EQ(said, "");
  run({"history", "list", store});
  EXPECT_THAT(said, HasSubstr("0 merged ids"));
  EXPECT_EQ(run({"history", "merge", store, "SM-0012", "SM-0099"}), 0) << "an id may be new";
  EXPECT_THAT(complained, HasSubstr("holds nothing of a patient `SM-0099`"));
  EXPECT_THAT(said, HasSubstr("stand under SM-0099 now"));
}

TEST_F(HistoryCommand, PrunesWhatNoRuleLooksBackOn) {
  run({"history", "import", store, year()});
  EXPECT_EQ(run({"history", "prune", store, "--before", "2025-06-02"}), 0);
  EXPECT_EQ(said,
            "1 order of days before 2025-06-02 dropped; the history is whole since "
            "2025-06-02\n");
  EXPECT_EQ(run({"history", "prune", store, "--keep", "245"}), 0);
  EXPECT_THAT(said, HasSubstr("1 order of days before 2025-06-30 dropped"));
  EXPECT_EQ(run({"history", "prune", store}), 0) << complained;
  EXPECT_THAT(said, HasSubstr("dropped; the history is whole since"));
}

TEST_F(HistoryCommand, SaysWhatIsWrong) {
  EXPECT_EQ(run({"history", "list", store}), 3);
  EXPECT_THAT(complained, HasSubstr("there is no history at " + (folder / "history.db")));
  EXPECT_EQ(run({"history", "list", "somewhere"}), 3);
  EXPECT_THAT(complained, HasSubstr("`somewhere` is no history"));
  const std::string damaged =
      folder.write("bad.ndjson", "{\"order\":\n" + order("A", "2026-01-01", "SM-0012"));
  EXPECT_EQ(run({"history", "import", store, damaged, folder / "missing.ndjson"}), 2);
  EXPECT_THAT(complained, HasSubstr("missing.ndjson"));
  EXPECT_THAT(said, HasSubstr("could not be read"));
}

}  // namespace
}  // namespace meniscus::adapters
