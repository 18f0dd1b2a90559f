// Records that stand behind a later order of their patient: `check` judges in the order of the
// input and says what an order was judged without.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string order(const std::string& id, const std::string& patient, const std::string& day) {
  return R"({"order":{"id":")" + id + R"(","placed":")" + day + R"("},"patient":{"id":")" +
         patient + R"("},"dose":"50 mg"})" + "\n";
}

std::string given(const std::string& id, const std::string& patient, const std::string& day) {
  return R"({"order":{"id":")" + id + R"(","action":"given","given":")" + day +
         R"("},"patient":{"id":")" + patient + R"("},"dose":"50 mg"})" + "\n";
}

std::string complained_of(const std::string& records) {
  const testing::TestFolder folder;
  const std::string file = folder.write("orders.ndjson", records);
  testing::CapturedConsole console;
  console.today = 20514;
  const std::string rule =
      folder.write("a.rule",
                   "rule any \"Any dose\"\n"
                   "    concerns all orders\n"
                   "    raise note when dose > 400 mg say \"{dose}.\" blames dose\n"
                   "    without dose ignore\n");
  (void)run_program({"check", file, "--only-rules", "--rules", rule, "--to", "jsonl"}, console);
  return console.complained;
}

TEST(LateRecords, AreCountedForTheirPatient) {
  EXPECT_THAT(
      complained_of(order("A-1", "SM-0012", "2026-03-02") + given("G-1", "SM-0012", "2026-02-28") +
                    order("A-2", "SM-0012", "2026-02-02")),
      HasSubstr("1 given injection and 1 order stand behind later orders"));
}

TEST(LateRecords, OfTheSameDayOrOfAnotherPatientAreNone) {
  EXPECT_THAT(
      complained_of(order("A-1", "SM-0012", "2026-03-02") + given("G-1", "SM-0012", "2026-03-02") +
                    given("G-2", "SM-0013", "2026-02-02") + order("A-2", "SM-0013", "2026-03-01")),
      Not(HasSubstr("stand behind")));
}

TEST(LateRecords, InTheOrderOfTheirDaysAreNone) {
  EXPECT_THAT(
      complained_of(given("G-1", "SM-0012", "2026-02-28") + order("A-1", "SM-0012", "2026-03-02") +
                    order("A-2", "SM-0012", "2026-03-09")),
      Not(HasSubstr("stand behind")));
}

}  // namespace
}  // namespace meniscus::adapters
