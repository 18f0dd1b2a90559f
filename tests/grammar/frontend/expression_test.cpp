// Expressions of the rule language: text in, shape out.
#include <gtest/gtest.h>

#include <memory>
#include <ostream>
#include <string>
#include <string_view>

#include "grammar/frontend/parse.hpp"
#include "tests/grammar/frontend/shape.hpp"

namespace meniscus::grammar {
namespace {

struct Case {
  std::string_view name, text, shape;
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.text; }

std::string all_messages(const Parsed& parsed) {
  std::string out;
  for (const engine::Diagnostic& d : parsed.diagnostics)
    out += engine::render(d);
  return out;
}

Parsed parse_text(std::string text) {
  return parse(std::make_shared<const engine::SourceText>("t.rule", std::move(text)), {});
}

class ExpressionShape : public ::testing::TestWithParam<Case> {};

TEST_P(ExpressionShape, IsAsRead) {
  const Parsed parsed = parse_text("define x = " + std::string(GetParam().text) + "\n");
  ASSERT_TRUE(parsed.diagnostics.empty()) << all_messages(parsed);
  ASSERT_EQ(parsed.file->defines.size(), 1U);
  EXPECT_EQ(testing::shape(*parsed.file->defines[0].value), GetParam().shape);
}

const Case kCases[] = {
    {"TimesBeforePlus", "a + b * c - d / e", "(- (+ a (* b c)) (/ d e))"},
    {"FromTheLeft", "a / b / c", "(/ (/ a b) c)"},
    {"Minus", "-a - - b", "(- (negate a) (negate b))"},
    {"OrElseIsLowerThanArithmetic", "strength or else vial.content / diluent",
     "(or-else strength (/ vial.content diluent))"},
    {"OrElseIsHigherThanComparison", "a < b or else c", "(< a (or-else b c))"},
    {"OrElseAndOr", "a is b or else c or d is e", "(or (is a (or-else b c)) (is d e))"},
    {"AndBeforeOr", "a > b or c > d and e > f", "(or (> a b) (and (> c d) (> e f)))"},
    {"NotIsAboveComparison", "not a is b and c is d", "(and (not (is a b)) (is c d))"},
    {"NotTwice", "not not a is b", "(not (not (is a b)))"},
    {"SignsInWords", "a less than b or a more than b or a at least b or a at most b",
     "(or (or (or (< a b) (> a b)) (>= a b)) (<= a b))"},
    {"IsMoreThan", "a is more than b and a is not less than b", "(and (> a b) (not (< a b)))"},
    {"UnitBelongsToNumber", "dose > 5 mg/kg", "(> dose [5 mg/kg])"},
    {"StrengthPerSeveral", "strength is 100 mg/5 mL", "(is strength [100 mg/5 mL])"},
    {"Fractions", "needle.length between 5/8 in and 1 1/2 in",
     "(between needle.length [5/8 in] [1 1/2 in])"},
    {"PercentOf", "draws * draw < 40 % * vial.volume", "(< (* draws draw) (* [40 %] vial.volume))"},
    {"MarkUnit", "0.2 mL/mark", "[0.2 mL/mark]"},
    {"Viscosity", "thickness >= 40 mPa.s", "(>= thickness [40 mPa.s])"},
    {"Gauge", "needle.gauge thinner than 21 G", "(thinner needle.gauge [21 G])"},
    {"GaugeWithIs", "needle.gauge is not wider than 21 G", "(not (wider needle.gauge [21 G]))"},
    {"FieldNamedBefore", "2 * before.patient.weight < before",
     "(< (* 2 before.patient.weight) before)"},
    {"NamesThatAreWords", "last + early + late + list + row.most + text + volume + total",
     "(+ (+ (+ (+ (+ (+ (+ last early) late) list) row.most) text) volume) total)"},
    {"IsBefore", "vial.expires is before supply end", "(before vial.expires [supply end])"},
    {"IsNotAfter", "a is not after today", "(not (is-after a today))"},
    {"AfterADate", "apart after last", "(after apart last)"},
    {"IsAfterSumOfDays", "a is 7 days + 1 day after b", "(is a (after (+ [7 days] [1 day]) b))"},
    {"Given", "a is given and b is missing and c is none",
     "(and (and (given a) (missing b)) (none c))"},
    {"YesNo", "a is yes or b is no or c is not yes", "(or (or (yes a) (no b)) (not (yes c)))"},
    {"NotGiven", "a is not given", "(not (given a))"},
    {"OneOf", "route is one of subcutaneous, intramuscular and a is b",
     "(and (one-of route subcutaneous intramuscular) (is a b))"},
    {"NotOneOf", "route is not one of a, b", "(not-one-of route a b)"},
    {"NotBeforeOneOf", "not vial.kind is one of prefilled, pen",
     "(not (one-of vial.kind prefilled pen))"},
    {"In", "site is in deltoid and site is not in trunk",
     "(and (in site deltoid) (not-in site trunk))"},
    {"MultipleOf", "draw is a multiple of 0.1 mL or draw is not a multiple of step",
     "(or (multiple-of draw [0.1 mL]) (not-multiple-of draw step))"},
    {"BetweenAndAnd", "a between 1 and 2 and b between 3 * c and 4",
     "(and (between a 1 2) (between b (* 3 c) 4))"},
    {"IsBetween", "a is not between 1 and 2", "(not (between a 1 2))"},
    {"Differs", "volume differs from a / b by more than 20 % or c > d",
     "(or (differs volume (/ a b) [20 %]) (> c d))"},
    {"Rounded", "a / b rounded up to 1", "(round-up (/ a b) 1)"},
    {"RoundedDown", "dose rounded down to step", "(round-down dose step)"},
    {"RoundedNearest", "dose rounded to 5 mg", "(round dose [5 mg])"},
    {"DaysSince", "days since here.when < 7 days", "(< (days-since here.when) [7 days])"},
    {"DaysFrom", "days from before.when to planned-day > 1.5 * schedule.every",
     "(> (days-from before.when planned-day) (* 1.5 schedule.every))"},
    {"TimeSince", "time since order.placed", "(time-since order.placed)"},
    {"TimeFrom", "time from order.placed to schedule.start < 6 h",
     "(< (time-from order.placed schedule.start) [6 h])"},
    {"KindOf", "kind of dose is by-volume", "(is (kind-of dose) by-volume)"},
    {"RegionOf", "region of earlier.site is region of site",
     "(is (region-of earlier.site) (region-of site))"},
    {"AsWritten", "dose as written contains \"cc\"", "(contains (as-written dose) \"cc\")"},
    {"Matches", "strength as written matches \"[0-9] *: *[0-9]\"",
     "(matches (as-written strength) \"[0-9] *: *[0-9]\")"},
    {"PatternKeepsBackslash", R"(a matches "\d\"\\")", R"((matches a "\d"\"))"},
    {"Includes", "not ages includes patient.age", "(not (includes ages patient.age))"},
    {"IfInBrackets", "x / (if a is b then c otherwise d + e)", "(/ x (if (is a b) c (+ d e)))"},
    {"IfNested", "if a is b then c otherwise if d is e then f otherwise g",
     "(if (is a b) c (if (is d e) f g))"},
    {"EngineValues", "weekly dose of this order + planned doses * time  to inject",
     "(+ [weekly dose of this order] (* [planned doses] [time to inject]))"},
    {"MoreEngineValues", "delivered-dose error > smallest measurable volume",
     "(> [delivered-dose error] [smallest measurable volume])"},
    {"Dates", "today is 2026-03-02", "(is today 2026-03-02)"},
    {"LookUp", "look up max-dose in substances where row.code is substance.code and row.a is yes",
     "(look-up max-dose substances (and (is row.code substance.code) (yes row.a)))"},
    {"LookUpOtherwise", "look up standing in t where row.a is b otherwise unlisted",
     "(look-up standing t (is row.a b) unlisted)"},
    {"LookUpInBrackets", "(look up early in t where row.a is b) or else 2 * c",
     "(or-else (look-up early t (is row.a b)) (* 2 c))"},
    {"LookUpEvery", "look up every text in t where row.a is b",
     "(look-up-every text t (is row.a b))"},
    {"ColumnNamedEvery", "look up every in t where row.a is b", "(look-up every t (is row.a b))"},
    {"AnyRow", "not (any row of t where row.a is b and c is d)",
     "(not (any-row t (and (is row.a b) (is c d))))"},
    {"AnyOf", "any of patient.allergies is row.allergy and a is b",
     "(and (is (any-of patient.allergies) row.allergy) (is a b))"},
    {"AnyOfWhere", "(any of components where each.dose > 2 * previous.dose)",
     "(any-of-where components (> each.dose (* 2 previous.dose)))"},
    {"Latest", "latest earlier injection where earlier.side is side",
     "(latest injections (is earlier.side side))"},
    {"LatestLast", "earliest last 3 earlier injections within 26 weeks",
     "(earliest injections last:3 within:26 weeks)"},
    {"NumberOf", "number of last 3 earlier injections where earlier.side is side",
     "(number injections last:3 (is earlier.side side))"},
    {"MedianOf", "median dose of earlier injections within 52 weeks where earlier.side is side",
     "(median injections field:dose within:52 weeks (is earlier.side side))"},
    {"WeeklyOf", "weekly dose of active orders where active.route is route",
     "(weekly active-orders (is active.route route))"},
    {"TotalOfList", "(total volume of list components) differs from volume by more than 5 %",
     "(differs (total list field:volume list:components) volume [5 %])"},
    {"EarlierOrders", "latest earlier order where earlier.patient.weight is given",
     "(latest earlier-orders (given earlier.patient.weight))"},
};
INSTANTIATE_TEST_SUITE_P(Text, ExpressionShape, ::testing::ValuesIn(kCases),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Expression, SpansMarkWhatWasWritten) {
  const std::string text = "define x = a + (b * c)\n";
  const Parsed parsed = parse_text(text);
  const Expr& sum = *parsed.file->defines.at(0).value;
  EXPECT_EQ(sum.span, (Span{11, 22}));
  EXPECT_EQ(sum.op, (Span{13, 14}));
  EXPECT_EQ(sum.kids.at(1)->span, (Span{15, 22}));
}

TEST(Expression, CommentsAndLineEndsAreBlanks) {
  const Parsed parsed = parse_text("define x = a # the first\r\n  or\r\n  else b\r\n");
  ASSERT_TRUE(parsed.diagnostics.empty()) << all_messages(parsed);
  EXPECT_EQ(testing::shape(*parsed.file->defines.at(0).value), "(or-else a b)");
}

}  // namespace
}  // namespace meniscus::grammar
