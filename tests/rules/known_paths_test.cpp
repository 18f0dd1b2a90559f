// Live orders that say the same but for their days and patients go the paths of earlier ones
// (engine/eval/known_paths.hpp); where their records or the beginning of history answer otherwise,
// they part.
//
// Checked by hand, for a rule of which every outcome is told from the days alone.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "tests/rules/judging.hpp"

namespace meniscus::rules_tests {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

/// Asks for an injection of more than 20 mg in the last fourteen days.
std::shared_ptr<const engine::Program> program_of_one_rule() {
  const fs::path folder =
      fs::path(::testing::TempDir()) / ("known_paths_test_" + std::to_string(::getpid()));
  fs::create_directories(folder);
  std::ofstream(folder / "large.rule")
      << "rule large-before \"A large dose before\"\n"
         "    concerns all orders\n"
         "    let large = latest earlier injection within 14 days where earlier.dose > 20 mg\n"
         "    let days = days from large.when to schedule.start\n"
         "    raise clarify when days < 3 days\n"
         "        say \"A large dose {days} before.\"\n"
         "        blames dose\n"
         "    raise note when days >= 3 days\n"
         "        say \"A large dose {days} before.\"\n"
         "        blames dose\n"
         "    cite \"common practice\"\n"
         "    owner \"tests\" reviewed 2026-05-01 review by 2027-05-01\n";
  const adapters::LoadedRules loaded =
      adapters::load_rules({folder.string()}, adapters::re2_patterns());
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics)
    ADD_FAILURE() << engine::render(diagnostic);
  fs::remove_all(folder);
  return loaded.program;
}

constexpr std::int64_t kBegins = 20600;  // days since 1970-01-01: 2026-05-27

std::string date_of(std::int64_t day) { return engine::format_day(day); }

std::string order_of(int patient, std::int64_t day, const std::string& dose) {
  const std::string id = std::to_string(patient) + "-" + std::to_string(day);
  return R"({"order":{"id":"A-)" + id + R"("},"patient":{"id":"SM-)" + std::to_string(patient) +
         R"("},"schedule":{"start":")" + date_of(day) + "\"}" +
         (dose.empty() ? "" : R"(,"dose":")" + dose + "\"") + "}\n";
}

/// A checker that goes on from order to order, one at a time, as a service has.
class Live {
 public:
  Live()
      : program_(program_of_one_rule()),
        checker_(program_, options()),
        history_(program_->look_back, program_->history_fields, program_->history_written) {
    history_.set_since(86400.0 * kBegins);
  }

  std::string judge(const std::string& order) {
    const engine::Feed feed;
    const engine::ReadContext context{program_.get(), &feed};
    const auto source =
        adapters::make_json_source({"live.ndjson", adapters::memory_bytes(order), 0}, context);
    engine::OrderBlock block;
    Said said;
    while (source->next(block))
      checker_.check(block, history_,
                     [&](const engine::Verdict& verdict) { said = read(verdict); });
    return said.text;
  }

 private:
  static engine::CheckOptions options() {
    engine::CheckOptions options;
    options.today = kToday;
    return options;
  }

  std::shared_ptr<const engine::Program> program_;
  engine::Checker checker_;
  engine::History history_;
};

TEST(KnownPaths, PartWhereDaysOrRecordsAnswerOtherwise) {
  Live live;
  for (int patient = 1000; patient < 1040; ++patient) {
    // The kind of patient changes from one to the next, so that each path is gone again and again.
    const int kind = patient % 5;
    const std::int64_t day = kBegins + (kind == 0 ? 10 : 40);
    const std::int64_t before = kind == 1 ? 2 : 9;
    const std::string dose = kind == 0 || kind == 3 ? "" : kind == 4 ? "20 mg" : "50 mg";
    live.judge(order_of(patient, day - before, dose));
    const std::string said = live.judge(order_of(patient, day, "10 mg"));
    switch (kind) {
      case 0:  // nine days after one without a dose, when ten days of history are known
        EXPECT_THAT(said, HasSubstr("history before 2026-05-27"));
        EXPECT_THAT(said, Not(HasSubstr("earlier dose")));
        break;
      case 1:
        EXPECT_THAT(said, HasSubstr("clarify from large-before: A large dose 2 days before."));
        break;
      case 2:
        EXPECT_THAT(said, HasSubstr("note from large-before: A large dose 9 days before."));
        break;
      case 3:  // whether there was one is open for lack of a dose, and nothing else
        EXPECT_THAT(said, HasSubstr("not assessed: earlier dose"));
        EXPECT_THAT(said, Not(HasSubstr("history before")));
        break;
      default:
        EXPECT_EQ(said, "clear");
    }
  }
}

}  // namespace
}  // namespace meniscus::rules_tests
