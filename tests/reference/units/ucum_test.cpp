// Every case of the UCUM case file: units that we claim agree, the others stand here with a reason.
//
// Checked against: tests/fixtures/ucum/cases.tsv, that is the answers of @lhncbc/ucum-lhc 7.1.10
// and the UCUM functional tests of FHIR/Ucum-java (its README says which row is which). Complete:
// a row is in exactly one category, and the counts are asserted; a row that
//                  neither agrees nor is listed fails, and so does a listed row that agrees anyway.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

struct Row {
  int line = 0;
  std::string value, from, to, expected, source;

  [[nodiscard]] bool is_validity() const {
    return expected == "valid" || (value.empty() && to.empty());
  }
  [[nodiscard]] bool is_policy() const { return source.rfind("POLICY:", 0) == 0; }
  [[nodiscard]] bool is_functional() const { return source.rfind("FHIR/", 0) == 0; }
  [[nodiscard]] std::string what() const {
    return is_validity() ? from : value + " " + from + " -> " + to;
  }
};

std::vector<Row> read_rows() {
  std::ifstream in(std::string(MENISCUS_SOURCE_DIR) + "/tests/fixtures/ucum/cases.tsv");
  std::vector<Row> rows;
  std::string line;
  for (int number = 1; std::getline(in, line); ++number) {
    if (number == 1) continue;
    std::vector<std::string> cells(1);
    for (const char c : line) {
      if (c == '\t')
        cells.emplace_back();
      else
        cells.back() += c;
    }
    if (cells.size() != 5) return {};
    rows.push_back({number, cells[0], cells[1], cells[2], cells[3], cells[4]});
  }
  return rows;
}

/// Our answer in the file's own terms.
struct Answer {
  bool ok = false;  // valid, or a number
  double number = 0;
};

Answer convert(const Row& row) {
  const Result<Unit> from = parse_unit(row.from, UnitSet::Ucum);
  if (row.is_validity()) return {bool(from), 0};
  const Result<Unit> to = parse_unit(row.to, UnitSet::Ucum);
  if (!from || !to || from->dimension != to->dimension) return {};
  const double base = std::stod(row.value) * from->factor + from->offset;
  return {true, (base - to->offset) / to->factor};
}

/// Half a unit in the last significant digit that the text shows, as a share of the number.
double shown_precision(const std::string& text) {
  std::string digits;
  for (const char c : text.substr(0, text.find('e')))
    if (c >= '0' && c <= '9' && !(digits.empty() && c == '0')) digits += c;
  if (text.find('.') == std::string::npos)
    while (digits.size() > 2 && digits.back() == '0')
      digits.pop_back();
  const double lead =
      std::stod(digits.substr(0, 1) + "." + (digits.size() > 1 ? digits.substr(1) : "0"));
  return 0.5 * std::pow(10.0, 1.0 - static_cast<double>(std::max<std::size_t>(digits.size(), 2))) /
         lead;
}

bool agrees(const Row& row) {
  const Answer ours = convert(row);
  if (row.expected == "error") return !ours.ok;
  if (row.expected == "valid") return ours.ok;
  if (!ours.ok) return false;
  const double theirs = std::stod(row.expected);
  const double share = row.is_functional() ? std::max(shown_precision(row.expected), 1e-12) : 1e-11;
  return std::fabs(ours.number - theirs) <= share * std::fabs(theirs);
}

/// Units that we do not claim; a row that uses one is refused by us.
const std::map<std::string, std::string> kNotClaimed = {
    {"u", "atomic mass unit: in orders `u` is how `unit` is abbreviated, so it is never a mass"},
    {"H", "henry: no electricity in an injection order"},
    {"S", "siemens: no electricity in an injection order"},
    {"MG", "megagauss: no magnetism in an injection order, and orders write MG for mg"},
    {"g.m.s-2.A-2", "ampere: no electricity in an injection order"},
    {"4.[pi].10*-7.N/A2", "ampere: no electricity in an injection order"},
    {"[mu_0]", "magnetic constant: no electricity in an injection order"},
    {"[ly]", "light-year"},
    {"1/[ly]", "light-year"},
    {"rad2{a}", "plane angle"},
    {"{a}.rad2{b}", "plane angle"},
    {"[HPF]", "high power field: a laboratory count"},
    {"[pH]", "pH: a logarithmic scale of the laboratory"},
    {"[CFU]", "colony forming units: a laboratory count, not a dose"},
    {"[APL'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[GPL'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[MPL'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[arb'U]", "arbitrary unit of nobody knows what"},
    {"/[arb'U]", "arbitrary unit of nobody knows what"},
    {"[bdsk'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[ka'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[knk'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[mclg'U]", "arbitrary unit of a laboratory test, not of a dose"},
    {"[todd'U]", "arbitrary unit of a laboratory test, not of a dose"},
};

/// Where we answer otherwise on purpose.
struct Own {
  std::string what;                // Row::what()
  std::optional<double> expected;  // nothing: refused
  std::string reason;
};

const std::string kSameArbitrary =
    "UCUM forbids converting an arbitrary unit to a different one only; [IU] is defined as 1 [iU], "
    "and both take metric prefixes";
const std::string kOneBiological =
    "biological units are one dimension here: which one is meant belongs to the substance, whose "
    "factor in a table is the only way to a mass";
const std::string kPerBodyMass =
    "`per kg` is per kilogram of body mass, so a dose by weight is never a bare number or a ratio "
    "of masses";

const Own kOwn[] = {
    {"1 [IU] -> [IU]", 1, kSameArbitrary},
    {"1 [iU] -> [iU]", 1, kSameArbitrary},
    {"1 [IU] -> [iU]", 1, kSameArbitrary},
    {"1 [iU] -> [IU]", 1, kSameArbitrary},
    {"1000 [IU] -> k[IU]", 1, kSameArbitrary},
    {"1 k[IU] -> [IU]", 1000, kSameArbitrary},
    {"5 [IU]/mL -> [IU]/L", 5000, kSameArbitrary},
    {"100 [IU]/mL -> [IU]/mL", 100, kSameArbitrary},
    {"100 [iU]/mL -> k[iU]/L", 100, kSameArbitrary},
    {"10 [USP'U] -> [USP'U]", 10, kSameArbitrary},
    {"1 m[IU] -> [IU]", 0.001, kSameArbitrary},
    {"1 M[IU] -> [IU]", 1e6, kSameArbitrary},
    {"1 10*6.[IU] -> [IU]", 1e6, kSameArbitrary},
    {"1 [IU]{insulin} -> [IU]", 1, kSameArbitrary},
    {"10 [USP'U] -> [IU]", 10, kOneBiological},
    {"1 [anti'Xa'U] -> [IU]", 1, kOneBiological},
    {"1 mg/kg -> ug/g", std::nullopt, kPerBodyMass},
    {"1 mg/kg -> 1", std::nullopt, kPerBodyMass},
    {"1 mg/kg -> [ppm]", std::nullopt, kPerBodyMass},
    {"1 day -> d", std::nullopt, "a name, not a UCUM code; the trade's spellings are another set"},
    {"1 week -> wk", std::nullopt,
     "a name, not a UCUM code; the trade's spellings are another set"},
    {"1  mg -> mg", std::nullopt, "UCUM allows no blanks; who reads a field trims it"},
};

/// Rows tagged POLICY where we do answer as the file says, and why that is right.
const std::map<std::string, std::string> kPolicyAgreed = {
    {"300 mg/0.5.mL -> mg/mL", "a decimal point in a code is invalid: 0.5 would be 0 times 5"},
    {"40 mg/(0.8.mL) -> mg/mL", "a decimal point in a code is invalid: 0.8 would be 0 times 8"},
    {"40 mg/0.8.mL -> mg/mL", "a decimal point in a code is invalid: 0.8 would be 0 times 8"},
    {"0.5.mL", "a decimal point in a code is invalid"},
    {"0.5mL", "a decimal point in a code is invalid"},
    {"1 [IU]/kg -> [IU]/g", "per kilogram of body mass is not per gram of substance"},
    {"1 [CFU] -> [CFU]", "not claimed: a laboratory count, not a dose"},
    {"1 IU -> [IU]", "not a UCUM code; the trade's spellings are another set"},
    {"IU", "not a UCUM code; the trade's spellings are another set"},
    {"1 {tbl} -> 1", "an annotation is the number one; no field of an order takes a bare number"},
    {"1 {vial} -> {syringe}", "as above: the number one, which no dose or volume accepts"},
    {"1 10^3 -> 1", "UCUM defines 10^ beside 10*"},
    {"10^3", "UCUM defines 10^ beside 10*"},
};

const Own* own_expectation(const Row& row) {
  for (const Own& own : kOwn)
    if (own.what == row.what()) return &own;
  return nullptr;
}

bool is_not_claimed(const Row& row) {
  return kNotClaimed.count(row.from) != 0 && row.expected != "error";
}

TEST(UcumCases, EveryRowIsInOneCategoryAndHolds) {
  const std::vector<Row> rows = read_rows();
  ASSERT_EQ(rows.size(), 764U);
  int agreed = 0, not_claimed = 0, own = 0, policy_agreed = 0;
  std::set<std::string> own_seen;
  for (const Row& row : rows) {
    SCOPED_TRACE("cases.tsv:" + std::to_string(row.line) + ": " + row.what());
    if (const Own* expected = own_expectation(row)) {
      ++own;
      own_seen.insert(row.what());
      const Answer ours = convert(row);
      EXPECT_EQ(ours.ok, expected->expected.has_value()) << expected->reason;
      if (ours.ok && expected->expected) {
        EXPECT_EQ(compare(ours.number, *expected->expected), 0) << expected->reason;
      }
      EXPECT_FALSE(agrees(row)) << "agrees with the file: take it off the list";
    } else if (is_not_claimed(row)) {
      ++not_claimed;
      EXPECT_FALSE(convert(row).ok) << "read although not claimed";
    } else if (row.is_policy()) {
      ++policy_agreed;
      EXPECT_EQ(kPolicyAgreed.count(row.what()), 1U) << "a POLICY row without a reason";
      EXPECT_TRUE(agrees(row)) << "gave " << convert(row).number;
    } else {
      ++agreed;
      EXPECT_TRUE(agrees(row)) << "expected " << row.expected << ", gave " << convert(row).number;
    }
  }
  EXPECT_EQ(own_seen.size(), std::size(kOwn)) << "a listed row is not in the file";
  EXPECT_EQ(agreed, 704);
  EXPECT_EQ(not_claimed, 25);
  EXPECT_EQ(own, 22);
  EXPECT_EQ(policy_agreed, 13);
}

// A reader that refuses everything would pass every `error` row; these counts say that it does not.
TEST(UcumCases, MostRowsAreReadOnBothSides) {
  int numbers = 0, valid = 0, refused_by_dimension = 0;
  for (const Row& row : read_rows()) {
    if (own_expectation(row) != nullptr) continue;
    const Answer ours = convert(row);
    if (row.expected == "valid" && ours.ok) ++valid;
    if (!row.is_validity() && ours.ok) ++numbers;
    if (row.expected == "error" && !row.is_validity() && parse_unit(row.from, UnitSet::Ucum) &&
        parse_unit(row.to, UnitSet::Ucum))
      ++refused_by_dimension;
  }
  EXPECT_GE(numbers, 190);
  EXPECT_GE(valid, 340);
  EXPECT_GE(refused_by_dimension, 25);
}

}  // namespace
}  // namespace meniscus::engine
