// The synthetic year: the same for the same seed, in order of time, and what it says of itself.
//
// Source: splitmix64's first outputs for seed 1234567, as listed by Rosetta Code (task
// "Pseudo-random numbers/Splitmix64"; from memory), pin the numbers that all else follows from.
#include "tests/year/year.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

namespace meniscus::year {
namespace {

using ::testing::HasSubstr;

YearOptions small(Form form = Form::Rich) {
  YearOptions options;
  options.orders = 800;
  options.form = form;
  return options;
}

TEST(Random, GivesThePublishedNumbers) {
  Random random(1234567);
  EXPECT_EQ(random.next(), 6457827717110365317ULL);
  EXPECT_EQ(random.next(), 3203168211198807973ULL);
  EXPECT_EQ(random.next(), 9817491932198370423ULL);
}

TEST(Year, IsTheSameForTheSameSeed) {
  EXPECT_EQ(make_year(small()), make_year(small()));
  YearOptions other = small();
  other.seed = 2;
  EXPECT_NE(make_year(small()), make_year(other));
}

TEST(Year, HoldsAsManyOrdersAsAskedForAndTheShareOfDefects) {
  YearOptions options;
  options.orders = 5000;
  options.defects_per_thousand = 100;
  Year year(options);
  Line line;
  std::size_t judged = 0;
  std::size_t defects = 0;
  std::set<std::string> ids;
  while (year.next(line)) {
    if (!line.judged) continue;
    ++judged;
    if (line.defect != kNoDefect) ++defects;
    ids.insert(line.id);
  }
  EXPECT_GE(judged, 5000U);
  EXPECT_LE(judged, 5002U);
  EXPECT_NEAR(static_cast<double>(defects), 450, 70);  // a tenth, before the corrected ones count
  EXPECT_GT(ids.size(), 4500U);                        // a change has the number of its order
}

TEST(Year, ComesInOrderOfTime) {
  YearOptions options = small();
  options.defects_per_thousand = 0;
  Year year(options);
  Line line;
  std::string last;
  while (year.next(line)) {
    const std::string key = line.judged ? "\"placed\":\"" : "\"given\":\"";
    const std::size_t at = line.text.find(key);
    if (at == std::string::npos) continue;  // a stop
    const std::string time = line.text.substr(at + key.size(), 16);
    EXPECT_LE(last, time);
    last = time;
  }
  EXPECT_FALSE(last.empty());
}

TEST(Year, HasNoDefectWhereNoneIsAskedFor) {
  YearOptions options = small();
  options.defects_per_thousand = 0;
  Year year(options);
  Line line;
  while (year.next(line))
    EXPECT_EQ(line.defect, kNoDefect);
}

TEST(SparseForm, CarriesPatientMedicineDoseAndRouteOnly) {
  YearOptions options = small(Form::Sparse);
  options.defects_per_thousand = 0;
  Year year(options);
  Line line;
  ASSERT_TRUE(year.next(line));
  EXPECT_THAT(line.text, HasSubstr("MSH|^~\\&|"));
  EXPECT_THAT(line.text, HasSubstr("\rPID|1||SM-"));
  EXPECT_THAT(line.text, HasSubstr("\rRXE||^"));
  EXPECT_THAT(line.text, HasSubstr("\rRXR|"));
  EXPECT_THAT(line.text, Not(HasSubstr("TQ1")));
  EXPECT_THAT(sparse_profile(), HasSubstr("\"never-carries\""));
}

}  // namespace
}  // namespace meniscus::year
