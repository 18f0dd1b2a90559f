// Days that may have been meant lie where an order's days lie.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string weekly(const std::string& id, const std::string& day) {
  return "MSH|^~\\&|ORDERS|SLATEMOOR|RX|PH|" + day + "||RDE^O11^RDE_O11|" + id +
         "|P|2.5.1\rPID|1||SM-0012||||19880402\rAL1|1||\"\"\rORC|NW|" + id +
         "\rRXE||testosterone-cypionate|50||mg||||||||||||||||||||200|mg|||||||1|mL\r" +
         "TQ1|1||Q1W||||" + day + "\rRXR|SC|LLAQ\r";
}

std::string given(const std::string& id, const std::string& day) {
  return "MSH|^~\\&|ORDERS|SLATEMOOR|RX|PH|" + day + "||RAS^O17^RAS_O17|" + id +
         "|P|2.5.1\rPID|1||SM-0012||||19880402\rAL1|1||\"\"\rORC|RE|" + id + "\rRXA|0|1|" + day +
         "||testosterone-cypionate|50|mg\rRXR|SC|RLAQ\r";
}

TEST(DateSlips, AreDaysOfTheseYears) {
  const testing::TestFolder folder;
  const std::string orders =
      folder.write("orders.hl7", given("A-1", "20260302") + weekly("A-2", "20260304"));
  const std::string rules = MENISCUS_SOURCE_DIR "/rules";
  testing::CapturedConsole console;
  console.today = 20516;
  adapters::run_program(
      {"check", orders, "--to", "jsonl", "--only-rules", "--rules", rules, "--no-config"}, console);
  EXPECT_THAT(console.said, HasSubstr("\"slips\":[{"));
  EXPECT_THAT(console.said, HasSubstr("2025-03-04"));
  for (const char* const far : {"2062-03-04", "2126-03-04", "2036-03-04", "1926-03-04"})
    EXPECT_THAT(console.said, Not(HasSubstr(far)));
}

}  // namespace
}  // namespace meniscus
