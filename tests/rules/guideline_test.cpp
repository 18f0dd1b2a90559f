// Published dose ranges: both ends pass, and one step outside is found.
//
// Sources: of the hormones, by guideline: Endocrine Society 2017, Table 11 (looked up); Metabolism
// Open
//          2022; 13: 100173, Table 2 (looked up); WPATH SOC-8 2022, Appendix C, and UCSF 2016 (from
//          memory).  Of the other medicines: labels and texts, named in each row.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <string>

#include "grammar/compile.hpp"
#include "tests/rules/full_order.hpp"
#include "tests/rules/judging.hpp"

namespace meniscus {
namespace {

using rules_tests::full_order;
using rules_tests::judge_last;
using rules_tests::Said;

std::string milligrams(double amount) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.10g mg", amount);
  return text.data();
}

Said judge(const std::string& code, const std::string& dose, const std::string& every,
           const std::shared_ptr<const engine::Program>& program = rules_tests::shipped_program()) {
  const std::string changes = R"({"substance": {"code": ")" + code + R"("}, "dose": ")" + dose +
                              R"(", "strength": null, "volume": null, "schedule": {"every": ")" +
                              every + R"("}})";
  return judge_last(full_order(changes.c_str()), engine::Mode::Columns, program);
}

/// The shipped rules with another guideline chosen.
std::shared_ptr<const engine::Program> with_guideline(const std::string& guideline) {
  std::vector<grammar::RuleSource> sources;
  const auto files = adapters::rule_files_at(MENISCUS_SOURCE_DIR "/rules");
  if (!files) return nullptr;
  for (const std::string& file : *files) {
    auto text = adapters::read_file(file);
    if (!text) return nullptr;
    const std::string shipped = "hormone-guideline = endocrine-society-2017";
    const std::size_t at = text->find(shipped);
    if (at != std::string::npos)
      text->replace(at, shipped.size(), "hormone-guideline = " + guideline);
    sources.push_back({file, std::move(*text)});
  }
  grammar::CompileOptions options;
  options.read_file = adapters::read_file;
  options.compile_pattern = adapters::re2_patterns();
  return grammar::compile(sources, options).program;
}

struct Range {
  const char* guideline;
  const char* code;
  const char* every;
  double low, high;  // mg; 0: the guideline names no lower end
};
std::ostream& operator<<(std::ostream& os, const Range& r) {
  return os << r.guideline << ' ' << r.code << " every " << r.every;
}

class Guideline : public ::testing::TestWithParam<Range> {};

TEST_P(Guideline, EndsPassAndOneStepOutsideIsFound) {
  const Range& r = GetParam();
  const auto program = with_guideline(r.guideline);
  ASSERT_NE(program, nullptr);
  const auto said = [&](double dose) { return judge(r.code, milligrams(dose), r.every, program); };
  const auto quiet = [](const Said& s) {
    return s.text.find("guideline-range") == std::string::npos;
  };
  EXPECT_TRUE(quiet(said(r.high))) << said(r.high).text;
  EXPECT_TRUE(said(r.high + 0.5).has("guideline-range", "caution")) << said(r.high + 0.5).text;
  if (r.low == 0) return;
  EXPECT_TRUE(quiet(said(r.low))) << said(r.low).text;
  EXPECT_TRUE(said(r.low - 0.5).has("guideline-range", "note")) << said(r.low - 0.5).text;
}

constexpr const char* kEndocrine = "endocrine-society-2017";
constexpr const char* kWpath = "wpath-soc-8";
constexpr const char* kUcsf = "ucsf-2016";
constexpr const char* kOpen = "metabolism-open-2022";
INSTANTIATE_TEST_SUITE_P(
    Published, Guideline,
    ::testing::Values(Range{kEndocrine, "testosterone-cypionate", "2 wk", 100, 200},
                      Range{kEndocrine, "testosterone-enanthate", "2 wk", 100, 200},
                      Range{kEndocrine, "testosterone-cypionate", "1 wk", 50, 100},
                      Range{kEndocrine, "testosterone-enanthate", "1 wk", 50, 100},
                      Range{kEndocrine, "testosterone-undecanoate", "12 wk", 1000, 1000},
                      Range{kEndocrine, "estradiol-valerate", "2 wk", 5, 30},
                      Range{kEndocrine, "estradiol-cypionate", "2 wk", 5, 30},
                      Range{kEndocrine, "estradiol-valerate", "1 wk", 2, 10},
                      Range{kEndocrine, "estradiol-cypionate", "1 wk", 2, 10},
                      Range{kWpath, "testosterone-cypionate", "1 wk", 50, 100},
                      Range{kWpath, "testosterone-enanthate", "2 wk", 100, 200},
                      Range{kWpath, "testosterone-undecanoate", "12 wk", 1000, 1000},
                      Range{kWpath, "testosterone-undecanoate", "10 wk", 750, 750},
                      Range{kWpath, "estradiol-valerate", "2 wk", 5, 30},
                      Range{kWpath, "estradiol-cypionate", "1 wk", 2, 10},
                      Range{kUcsf, "testosterone-cypionate", "1 wk", 20, 100},
                      Range{kUcsf, "testosterone-enanthate", "2 wk", 40, 200},
                      Range{kUcsf, "estradiol-valerate", "2 wk", 0, 40},
                      Range{kUcsf, "estradiol-valerate", "1 wk", 0, 20},
                      Range{kUcsf, "estradiol-cypionate", "2 wk", 0, 5},
                      Range{kUcsf, "estradiol-cypionate", "1 wk", 0, 2.5},
                      Range{kOpen, "testosterone-enanthate", "4 wk", 250, 250},
                      Range{kOpen, "testosterone-cypionate", "4 wk", 200, 200},
                      Range{kOpen, "testosterone-undecanoate", "12 wk", 1000, 1000},
                      Range{kOpen, "estradiol-valerate", "2 wk", 5, 20},
                      Range{kOpen, "estradiol-cypionate", "4 wk", 3, 3}));

struct Label {
  const char* code;
  const char* source;
  const char* every;
  const char *under, *low, *high, *over;  // doses; null: no such end
};
std::ostream& operator<<(std::ostream& os, const Label& l) { return os << l.code; }

class LabelledDose : public ::testing::TestWithParam<Label> {};

TEST_P(LabelledDose, EndsPassAndOneStepOutsideIsFound) {
  const Label& l = GetParam();
  const auto quiet = [&](const char* dose) {
    const Said said = judge(l.code, dose, l.every);
    return said.text.find("dose-range") == std::string::npos;
  };
  EXPECT_TRUE(quiet(l.high)) << l.source;
  EXPECT_TRUE(judge(l.code, l.over, l.every).has("dose-range", "clarify")) << l.source;
  if (l.low == nullptr) return;
  EXPECT_TRUE(quiet(l.low)) << l.source;
  EXPECT_TRUE(judge(l.code, l.under, l.every).has("dose-range", "caution")) << l.source;
}

INSTANTIATE_TEST_SUITE_P(
    Published, LabelledDose,
    ::testing::Values(
        Label{"testosterone-cypionate", "US label restated: at most 400 mg (secondary)", "4 wk",
              nullptr, nullptr, "400 mg", "401 mg"},
        Label{"estradiol-valerate", "Endocrine Society 2017, Table 11 (looked up)", "2 wk",
              "1.9 mg", "2 mg", "30 mg", "31 mg"},
        Label{"medroxyprogesterone", "DailyMed label, 150 mg (looked up); 104 mg (secondary)",
              "13 wk", "103 mg", "104 mg", "150 mg", "151 mg"},
        Label{"hydroxyprogesterone-caproate", "label restated: 250 or 275 mg (secondary)", "1 wk",
              "249 mg", "250 mg", "275 mg", "276 mg"},
        Label{"cyanocobalamin", "US label copy, 100 mcg (looked up); 1000 mcg (secondary)", "4 wk",
              "99 mcg", "100 mcg", "1000 mcg", "1001 mcg"},
        Label{"hydroxocobalamin", "US label copy, 30 mcg (looked up); BNF, 1 mg (secondary)",
              "8 wk", "29 mcg", "30 mcg", "1 mg", "1.01 mg"},
        Label{"dalteparin", "nursing textbook chapter: 2500 to 18000 units (secondary)", "1 d",
              "2400 units", "2500 units", "18000 units", "18100 units"},
        Label{"fondaparinux", "dosing restated: 2.5 to 10 mg (secondary)", "1 d", "2.4 mg",
              "2.5 mg", "10 mg", "10.1 mg"},
        Label{"methotrexate", "EMA/521627/2019: single doses of 2.5 to 30 mg (secondary)", "1 wk",
              "2.4 mg", "2.5 mg", "30 mg", "30.5 mg"},
        Label{"paliperidone-palmitate", "maker's medical information: 39 to 234 mg (looked up)",
              "4 wk", "38 mg", "39 mg", "234 mg", "235 mg"},
        Label{"naltrexone-depot", "US label restated: 380 mg (secondary)", "4 wk", "379 mg",
              "380 mg", "380 mg", "381 mg"},
        Label{"penicillin-g-benzathine", "US label copy: at most 2.4 million units (looked up)",
              "4 wk", nullptr, nullptr, "2400000 units", "2400001 units"},
        Label{"ceftriaxone", "label restated twice: at most 2000 mg (secondary)", "1 d", nullptr,
              nullptr, "2000 mg", "2001 mg"},
        Label{"denosumab", "labels restated: 60 and 120 mg (secondary)", "4 wk", "59 mg", "60 mg",
              "120 mg", "121 mg"},
        Label{"ketorolac", "label restated: single dose of 60 mg (secondary)", "1 d", nullptr,
              nullptr, "60 mg", "61 mg"}));

// The pairs of dose and interval of the leuprolide depots: labels restated (secondary) and
// Endocrine Society 2017, Table 11 (looked up); mixed-up pairs: ISMP, 9 Aug 2018 (looked up).
TEST(LeuprolideDepot, EachDoseHasItsInterval) {
  struct Pair {
    const char *dose, *every, *other;
  };
  for (const Pair& p : {Pair{"3.75 mg", "4 wk", "12 wk"}, Pair{"7.5 mg", "4 wk", "12 wk"},
                        Pair{"11.25 mg", "12 wk", "4 wk"}, Pair{"22.5 mg", "12 wk", "4 wk"},
                        Pair{"30 mg", "16 wk", "12 wk"}, Pair{"45 mg", "24 wk", "12 wk"}}) {
    EXPECT_FALSE(judge("leuprolide-depot", p.dose, p.every).has("depot-interval", "clarify"))
        << p.dose;
    EXPECT_TRUE(judge("leuprolide-depot", p.dose, p.other).has("depot-interval", "clarify"))
        << p.dose;
  }
  EXPECT_TRUE(judge("leuprolide-depot", "15 mg", "4 wk").has("depot-interval", "clarify"));
}

}  // namespace
}  // namespace meniscus
