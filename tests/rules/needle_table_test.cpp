// Needle lengths by route, site, age, sex and weight against the table of the US vaccine guidance.
//
// Source: CDC/ACIP General Best Practice Guidelines for Immunization, Vaccine Administration, Table
// 6-2,
//         as restated by Immunize.org (needle length page) and by two handouts, "Administering
//         Vaccines to Adults" and "Administering Vaccines: Dose, Route, Site, and Needle Size"
//         (looked up, secondary); an adult's thigh from memory. Lengths are those on sale, in
//         inches; each that lies in a cell passes, and the next shorter and the next longer one are
//         found.
#include <gtest/gtest.h>

#include <array>
#include <string>

#include "tests/rules/full_order.hpp"
#include "tests/rules/judging.hpp"

namespace meniscus {
namespace {

using rules_tests::full_order;
using rules_tests::judge_last;

struct Length {
  const char* written;
  double inches;
};
constexpr std::array<Length, 10> kOnSale = {{{"1/4 in", 0.25},
                                             {"3/8 in", 0.375},
                                             {"1/2 in", 0.5},
                                             {"5/8 in", 0.625},
                                             {"7/8 in", 0.875},
                                             {"1 in", 1},
                                             {"1 1/4 in", 1.25},
                                             {"1 1/2 in", 1.5},
                                             {"2 in", 2},
                                             {"2 1/2 in", 2.5}}};

struct Cell {
  const char* name;
  const char* site;
  const char* born;  // the order is of 2026-03-02
  const char* sex;
  const char* weight;
  double least, most;  // inches
};

std::ostream& operator<<(std::ostream& os, const Cell& cell) { return os << cell.name; }

class AcipTable : public ::testing::TestWithParam<Cell> {};

bool found(const Cell& cell, const char* length) {
  const std::string changes = std::string(R"({"patient": {"born": ")") + cell.born +
                              R"(", "sex": ")" + cell.sex + R"(", "weight": ")" + cell.weight +
                              R"("}, "site": ")" + cell.site + R"(", "needle": {"length": ")" +
                              length + R"("}})";
  const auto said = judge_last(full_order(changes.c_str()), engine::Mode::Columns);
  EXPECT_EQ(said.orders, 1U);
  EXPECT_EQ(said.text.find("not assessed: needle"), std::string::npos) << said.text;
  return said.has("needle-length", "clarify");
}

TEST_P(AcipTable, InsidePassesAndOneStepOutsideIsFound) {
  const Cell& cell = GetParam();
  for (std::size_t i = 0; i < kOnSale.size(); ++i) {
    const bool inside = kOnSale[i].inches >= cell.least && kOnSale[i].inches <= cell.most;
    const bool below = i + 1 < kOnSale.size() && kOnSale[i + 1].inches == cell.least;
    const bool above = i > 0 && kOnSale[i - 1].inches == cell.most;
    if (inside) {
      EXPECT_FALSE(found(cell, kOnSale[i].written)) << kOnSale[i].written;
    }
    if (below || above) {
      EXPECT_TRUE(found(cell, kOnSale[i].written)) << kOnSale[i].written;
    }
  }
}

constexpr double k58 = 0.625;
INSTANTIATE_TEST_SUITE_P(
    Table62, AcipTable,
    ::testing::Values(
        // anterolateral thigh
        Cell{"NewbornThigh", "thigh", "2026-02-28", "female", "3 kg", k58, k58},
        Cell{"TwentySevenDaysThigh", "thigh", "2026-02-03", "male", "4 kg", k58, k58},
        Cell{"FourWeeksThigh", "thigh", "2026-02-02", "male", "4 kg", 1, 1},
        Cell{"ElevenMonthsThigh", "vastus-lateralis", "2025-03-03", "female", "9 kg", 1, 1},
        Cell{"OneYearThigh", "thigh", "2025-03-02", "female", "9 kg", 1, 1.25},
        Cell{"TwoYearsThigh", "thigh", "2023-03-03", "male", "14 kg", 1, 1.25},
        Cell{"ThreeYearsThigh", "thigh", "2023-03-02", "male", "14 kg", 1, 1.25},
        Cell{"TenYearsThigh", "thigh", "2015-03-03", "female", "35 kg", 1, 1.25},
        Cell{"ElevenYearsThigh", "thigh", "2015-03-02", "female", "38 kg", 1, 1.5},
        Cell{"EighteenYearsThigh", "thigh", "2007-03-03", "male", "70 kg", 1, 1.5},
        Cell{"AdultThigh", "thigh", "1988-04-02", "male", "80 kg", 1, 1.5},
        // deltoid, children
        Cell{"OneYearDeltoid", "deltoid", "2025-03-02", "female", "9 kg", k58, 1},
        Cell{"ThreeYearsDeltoid", "deltoid", "2023-03-02", "male", "14 kg", k58, 1},
        Cell{"TenYearsDeltoid", "deltoid", "2015-03-03", "female", "35 kg", k58, 1},
        Cell{"ElevenYearsDeltoid", "deltoid", "2015-03-02", "male", "38 kg", k58, 1},
        Cell{"EighteenYearsDeltoid", "deltoid", "2007-03-03", "female", "95 kg", k58, 1}));

INSTANTIATE_TEST_SUITE_P(
    Table62Adults, AcipTable,
    ::testing::Values(Cell{"Woman59", "deltoid", "1988-04-02", "female", "59.9 kg", k58, 1},
                      Cell{"Man59", "deltoid", "2007-03-02", "male", "59.9 kg", k58, 1},
                      Cell{"Woman129Pounds", "deltoid", "1988-04-02", "female", "129 lb", k58, 1},
                      Cell{"Woman60", "deltoid", "1988-04-02", "female", "60 kg", 1, 1},
                      Cell{"Man69", "deltoid", "1988-04-02", "male", "69.9 kg", 1, 1},
                      Cell{"Woman70", "deltoid", "1988-04-02", "female", "70 kg", 1, 1.5},
                      Cell{"Woman90", "deltoid", "1988-04-02", "female", "90 kg", 1, 1.5},
                      Cell{"Woman91", "deltoid", "1988-04-02", "female", "91 kg", 1.5, 1.5},
                      Cell{"Man91", "deltoid", "1988-04-02", "male", "91 kg", 1, 1.5},
                      Cell{"Man118", "deltoid", "1988-04-02", "male", "118 kg", 1, 1.5},
                      Cell{"Man119", "deltoid", "1988-04-02", "male", "119 kg", 1.5, 1.5},
                      Cell{"Woman119", "deltoid", "1988-04-02", "female", "119 kg", 1.5, 1.5}),
    [](const auto& info) { return info.param.name; });

// Under the skin the guidance names 5/8 in; shorter needles are usual for insulin (4 mm, Clinical
// Diabetes 2019; 37: 227-233, looked up), so only a longer one is found.
TEST(AcipTable, UnderTheSkin) {
  const auto length_found = [](const char* length) {
    const std::string changes =
        std::string(R"({"route": "subcutaneous", "site": "thigh", "needle": {"length": ")") +
        length + R"("}})";
    return judge_last(full_order(changes.c_str()), engine::Mode::Columns)
        .has("needle-length", "clarify");
  };
  EXPECT_FALSE(length_found("5/8 in"));
  EXPECT_FALSE(length_found("16 mm"));
  EXPECT_FALSE(length_found("4 mm"));
  EXPECT_TRUE(length_found("7/8 in"));
  EXPECT_TRUE(length_found("1 in"));
}

// Gauges of the same table: 22 to 25 into the muscle, 23 to 25 under the skin.
TEST(AcipTable, Gauges) {
  const auto finding = [](const char* route, const char* site, const char* gauge) {
    const std::string changes = std::string(R"({"route": ")") + route + R"(", "site": ")" + site +
                                R"(", "needle": {"gauge": ")" + gauge +
                                R"(", "length": "5/8 in"}})";
    return judge_last(full_order(changes.c_str()), engine::Mode::Columns);
  };
  for (const char* gauge : {"22 G", "23 G", "24 G", "25 G"}) {
    const auto said = finding("intramuscular", "deltoid", gauge);
    EXPECT_FALSE(said.has("needle-gauge", "clarify") || said.has("needle-gauge", "caution"))
        << said.text;
  }
  EXPECT_TRUE(finding("intramuscular", "deltoid", "26 G").has("needle-gauge", "clarify"));
  for (const char* gauge : {"23 G", "24 G", "25 G"}) {
    const auto said = finding("subcutaneous", "thigh", gauge);
    EXPECT_FALSE(said.has("needle-gauge", "clarify") || said.has("needle-gauge", "caution"))
        << said.text;
  }
  EXPECT_TRUE(finding("subcutaneous", "thigh", "21 G").has("needle-gauge", "caution"));
}

}  // namespace
}  // namespace meniscus
