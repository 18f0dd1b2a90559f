// The list of candidates is bounded, and holds the same change once.
#include "engine/slips/candidates.hpp"

#include <gtest/gtest.h>

namespace meniscus::engine::slips {
namespace {

TEST(Candidates, HaveAnEnd) {
  Candidates candidates;
  for (int i = 1; i < 2000; ++i)
    candidates.add(Kind::PointMoved, FieldId::Dose, Value::quantity(i, dim::kMass), 1);
  EXPECT_TRUE(candidates.full());
  EXPECT_EQ(candidates.list().size(), Candidates::kMostCandidates);
}

TEST(Candidates, HoldOneChangeOnceUnderItsCommonestKind) {
  Candidates candidates;
  candidates.add(Kind::PointMovedTwo, FieldId::Dose, Value::quantity(0.3, dim::kMass), 1);
  candidates.add(Kind::PointMoved, FieldId::Dose, Value::quantity(0.1 * 3, dim::kMass), 1);
  candidates.add(Kind::PointMoved, FieldId::DoseHigh, Value::quantity(0.3, dim::kMass), 1);
  candidates.add(Kind::PointMoved, FieldId::Dose, Value::quantity(0.3, dim::kBiological), 1);
  ASSERT_EQ(candidates.list().size(), 3U);
  EXPECT_EQ(candidates.list()[0].kind, Kind::PointMoved);
  EXPECT_TRUE(candidates.list()[0].twice);
  EXPECT_FALSE(candidates.list()[1].twice);
}

TEST(Candidates, AreSortedByRankAndElseStay) {
  Candidates candidates;
  candidates.add(Kind::DecadeOff, FieldId::VialExpires, Value::date({.seconds = 86400}), 1);
  candidates.add(Kind::OtherWord, FieldId::Side, Value::word(1, "left"), 1);
  candidates.add(Kind::OtherWord, FieldId::Side, Value::word(2, "right"), 1);
  candidates.sort();
  EXPECT_EQ(candidates.list()[0].changes[0].value.aux, 1U);
  EXPECT_EQ(candidates.list()[1].changes[0].value.aux, 2U);
  EXPECT_EQ(candidates.list()[2].kind, Kind::DecadeOff);
}

TEST(Kinds, HaveARankAndAReasonThatGoesIntoASentence) {
  for (std::size_t i = 0; i <= static_cast<std::size_t>(Kind::CenturyOff); ++i) {
    const auto kind = static_cast<Kind>(i);
    EXPECT_GE(rank(kind), 1);
    EXPECT_LE(rank(kind), 5);
    ASSERT_FALSE(why(kind).empty());
    EXPECT_TRUE(why(kind).front() >= 'a' && why(kind).front() <= 'z') << why(kind);
    EXPECT_NE(why(kind).back(), '.') << why(kind);
    EXPECT_EQ(why(kind).find(';'), std::string_view::npos) << why(kind);
  }
}

}  // namespace
}  // namespace meniscus::engine::slips
