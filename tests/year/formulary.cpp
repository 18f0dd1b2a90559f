// Contract: see formulary.hpp.
#include "tests/year/formulary.hpp"

namespace meniscus::year {

namespace {
using enum Container;
using enum Device;

constexpr std::string_view kSkin = "subcutaneous";
constexpr std::string_view kMuscle = "intramuscular";
constexpr std::string_view kWeekly = "once a week";
constexpr std::string_view kTwoWeeks = "every 2 weeks";
constexpr std::string_view kFourWeeks = "every 4 weeks";
constexpr std::string_view kTwelveWeeks = "every 12 weeks";
constexpr std::string_view kThirteenWeeks = "every 13 weeks";
constexpr std::string_view kDaily = "once a day";

// clang-format off
// One row a regimen; the columns are those of Regimen.
constexpr Regimen kFormulary[] = {
    /* 0 */ {"testosterone-cypionate", "Testosterone cypionate", "mg", 200, "200 mg/mL",
     "cottonseed-oil", true, kSkin, {50, 60, 70, 80, 100}, "1 wk", 7, 1, 4, kWeekly,
     MultiDose, 1, 28, Syringe, Sites::Skin, 25, 18, "hypogonadism", Sex::Male, 18, 70, 80, 0, 0},
    /* 1 */ {"testosterone-cypionate", "Testosterone cypionate", "mg", 200, "200 mg/mL",
     "cottonseed-oil", true, kMuscle, {120, 140, 160, 200}, "2 wk", 14, 1, 2, kTwoWeeks,
     MultiDose, 1, 28, Syringe, Sites::GlutealOrThigh, 22, 18, "hypogonadism", Sex::Male, 19, 70, 0, 0, 0},
    /* 2 */ {"testosterone-enanthate", "Testosterone enanthate", "mg", 200, "200 mg/mL",
     "sesame-oil", true, kSkin, {50, 60, 80, 100}, "1 wk", 7, 1, 4, kWeekly,
     MultiDose, 1, 28, Syringe, Sites::Skin, 25, 18, "hypogonadism", Sex::Male, 18, 70, 70, 0, 0},
    /* 3 */ {"testosterone-undecanoate", "Testosterone undecanoate", "mg", 250, "250 mg/mL",
     "castor-oil-benzyl-benzoate", true, kMuscle, {1000}, "12 wk", 84, 1, 1, kTwelveWeeks,
     SingleDose, 4, 28, Syringe, Sites::Gluteal, 20, 18, "hypogonadism", Sex::Male, 19, 75, 0, 0, 0},
    /* 4 */ {"estradiol-valerate", "Estradiol valerate", "mg", 10, "10 mg/mL",
     "sesame-oil", true, kMuscle, {6, 7, 8, 10}, "1 wk", 7, 1, 4, kWeekly,
     MultiDose, 5, 28, Syringe, Sites::Thigh, 23, 18, "hormone-therapy", Sex::Any, 19, 60, 60, 0, 0},
    /* 5 */ {"estradiol-valerate", "Estradiol valerate", "mg", 10, "10 mg/mL",
     "sesame-oil", true, kSkin, {3, 4, 5, 6}, "1 wk", 7, 1, 4, kWeekly,
     MultiDose, 5, 28, Syringe, Sites::Skin, 25, 18, "hormone-therapy", Sex::Any, 19, 60, 80, 0, 0},
    /* 6 */ {"medroxyprogesterone", "Medroxyprogesterone acetate", "mg", 150, "150 mg/mL",
     "aqueous-suspension", false, kMuscle, {150}, "13 wk", 91, 1, 1, kThirteenWeeks,
     SingleDose, 1, 28, Syringe, Sites::Gluteal, 22, 21, "contraception", Sex::Female, 19, 45, 0, 0, 0},
    /* 7 */ {"medroxyprogesterone", "Medroxyprogesterone acetate", "mg", 160, "104 mg/0.65 mL",
     "aqueous-suspension", false, kSkin, {104}, "13 wk", 91, 1, 1, kThirteenWeeks,
     Prefilled, 0, 28, Ready, Sites::Skin, 0, 0, "contraception", Sex::Female, 18, 45, 50, 0, 0},
    /* 8 */ {"cyanocobalamin", "Cyanocobalamin", "mcg", 1000, "1000 mcg/mL",
     "aqueous", false, kMuscle, {1000}, "4 wk", 28, 1, 1, kFourWeeks,
     SingleDose, 1, 28, Syringe, Sites::Arm, 25, 21, "vitamin-b12-deficiency", Sex::Any, 19, 90, 0, 0, 0},
    /* 9 */ {"hydroxocobalamin", "Hydroxocobalamin", "mg", 1, "1 mg/mL",
     "aqueous", false, kMuscle, {1}, "12 wk", 84, 1, 1, kTwelveWeeks,
     Ampoule, 1, 28, Syringe, Sites::Thigh, 23, 21, "vitamin-b12-deficiency", Sex::Any, 19, 90, 0, 0, 0},
    /* 10 */ {"epoetin-alfa", "Epoetin alfa", "units", 10000, "10000 units/mL",
     "aqueous", false, kSkin, {3000, 4000, 5000, 6000, 8000}, "1 wk", 7, 1, 3, kWeekly,
     MultiDose, 2, 21, Syringe, Sites::Skin, 27, 21, "renal-anaemia", Sex::Any, 30, 85, 40, 0, 0},
    /* 11 */ {"enoxaparin", "Enoxaparin sodium", "mg", 100, "100 mg/mL",
     "aqueous", false, kSkin, {40}, "1 day", 1, 1, 28, kDaily,
     Prefilled, 0, 28, Ready, Sites::Skin, 0, 0, "thrombosis-prevention", Sex::Any, 30, 90, 90, 0, 0},
    /* 12 */ {"enoxaparin", "Enoxaparin sodium", "mg", 100, "100 mg/mL",
     "aqueous", false, kSkin, {1}, "1 day", 1, 2, 28, "twice a day",
     MultiDose, 3, 28, Syringe, Sites::Skin, 27, 21, "thrombosis", Sex::Any, 30, 85, 70, 1, 1},
    /* 13 */ {"insulin-glargine", "Insulin glargine", "units", 100, "100 units/mL",
     "aqueous", false, kSkin, {12, 16, 20, 24, 30, 36}, "1 day", 1, 1, 28, kDaily,
     MultiDose, 10, 28, InsulinSyringe, Sites::Skin, 31, 0, "diabetes", Sex::Any, 19, 85, 100, 0, 0},
    /* 14 */ {"insulin-lispro", "Insulin lispro", "units", 100, "100 units/mL",
     "aqueous", false, kSkin, {4, 6, 8, 10}, "1 day", 1, 3, 84, "three times a day",
     MultiDose, 10, 28, InsulinSyringe, Sites::Skin, 31, 0, "diabetes", Sex::Any, 19, 85, 100, 0, 0},
    /* 15 */ {"semaglutide", "Semaglutide", "mg", 1.34, "1.34 mg/mL",
     "aqueous", false, kSkin, {0.25, 0.5, 1}, "1 wk", 7, 1, 4, kWeekly,
     Pen, 3, 56, Ready, Sites::Skin, 0, 0, "diabetes", Sex::Any, 19, 75, 100, 0, 0},
    /* 16 */ {"semaglutide", "Semaglutide", "mg", 2.5, "2.5 mg/mL",
     "aqueous", false, kSkin, {0.25, 0.5, 1}, "1 wk", 7, 1, 4, kWeekly,
     MultiDose, 2, 28, MarksSyringe, Sites::Skin, 31, 0, "obesity", Sex::Any, 19, 75, 100, 0, 0},
    /* 17 */ {"haloperidol-decanoate", "Haloperidol decanoate", "mg", 100, "100 mg/mL",
     "sesame-oil", true, kMuscle, {60, 80, 100, 150, 200}, "4 wk", 28, 1, 1, kFourWeeks,
     SingleDose, 1, 28, Syringe, Sites::Gluteal, 21, 18, "schizophrenia", Sex::Any, 19, 75, 0, 0, 0},
    /* 18 */ {"fluphenazine-decanoate", "Fluphenazine decanoate", "mg", 25, "25 mg/mL",
     "sesame-oil", true, kMuscle, {12.5, 20, 25, 37.5, 50}, "2 wk", 14, 1, 2, kTwoWeeks,
     MultiDose, 5, 28, Syringe, Sites::Gluteal, 21, 18, "schizophrenia", Sex::Any, 19, 75, 0, 0, 0},
    /* 19 */ {"paliperidone-palmitate", "Paliperidone palmitate", "mg", 156, "156 mg/mL",
     "aqueous-suspension", false, kMuscle, {78, 117, 156, 234}, "4 wk", 28, 1, 1, kFourWeeks,
     Prefilled, 0, 28, Ready, Sites::Gluteal, 22, 0, "schizophrenia", Sex::Any, 19, 75, 0, 0, 0},
    /* 20 */ {"methotrexate", "Methotrexate", "mg", 25, "25 mg/mL",
     "aqueous", false, kSkin, {10, 12.5, 15, 17.5, 20, 25}, "1 wk", 7, 1, 4, kWeekly,
     MultiDose, 2, 30, Syringe, Sites::Skin, 27, 21, "rheumatoid-arthritis", Sex::Any, 19, 85, 60, 0, 0},
    /* 21 */ {"methotrexate", "Methotrexate", "mg", 50, "50 mg/mL",
     "aqueous", false, kSkin, {10, 12.5, 15, 17.5, 20, 25}, "1 wk", 7, 1, 4, kWeekly,
     Prefilled, 0, 28, Ready, Sites::Skin, 0, 0, "psoriasis", Sex::Any, 19, 85, 80, 0, 0},
    /* 22 */ {"adalimumab", "Adalimumab", "mg", 50, "50 mg/mL",
     "aqueous", false, kSkin, {40}, "2 wk", 14, 1, 2, kTwoWeeks,
     Prefilled, 0, 28, Ready, Sites::Skin, 0, 0, "rheumatoid-arthritis", Sex::Any, 19, 80, 90, 0, 0},
    /* 23 */ {"denosumab", "Denosumab", "mg", 60, "60 mg/mL",
     "aqueous", false, kSkin, {60}, "26 wk", 182, 1, 1, "every 26 weeks",
     Prefilled, 0, 28, Ready, Sites::Skin, 0, 0, "osteoporosis", Sex::Female, 55, 90, 0, 0, 0},
    /* 24 */ {"penicillin-g-benzathine", "Penicillin G benzathine", "million units", 0.6, "600000 units/mL",
     "aqueous-suspension", false, kMuscle, {1.2}, "4 wk", 28, 1, 1, kFourWeeks,
     Prefilled, 0, 28, Ready, Sites::Gluteal, 21, 0, "rheumatic-fever-prevention", Sex::Any, 19, 45, 0, 0, 0},
    /* 25 */ {"ceftriaxone", "Ceftriaxone", "mg", 250, "500 mg",
     "aqueous", false, kMuscle, {500}, "", 0, 1, 1, "once",
     Powder, 2, 1, Syringe, Sites::Gluteal, 22, 21, "gonorrhoea", Sex::Any, 19, 60, 0, 0, 0, 1.8},
    /* 26 */ {"leuprolide-depot", "Leuprolide acetate depot", "mg", 7.5, "7.5 mg/mL",
     "aqueous-suspension", false, kMuscle, {7.5}, "4 wk", 28, 1, 1, kFourWeeks,
     Powder, 1, 1, Syringe, Sites::Gluteal, 22, 21, "prostate-cancer", Sex::Male, 55, 90, 0, 0, 0},
    /* 27 */ {"dalteparin", "Dalteparin sodium", "units", 25000, "25000 units/mL",
     "aqueous", false, kSkin, {5000}, "1 day", 1, 1, 28, kDaily,
     Prefilled, 0, 28, Ready, Sites::Skin, 0, 0, "thrombosis-prevention", Sex::Any, 30, 90, 90, 0, 0},
};

constexpr Need kNeeds[] = {
    {18, {0, 1, 2, 3, -1}, {8, 13, 22, -1}},     // testosterone
    {14, {4, 5, -1}, {8, 13, -1}},               // estradiol
    {10, {6, 7, -1}, {8, 22, 20, -1}},           // contraception
    {14, {13, -1}, {14, 15, 9, 11, -1}},         // diabetes, insulin
    {4, {15, -1}, {8, -1}},                      // diabetes, no insulin
    {6, {16, -1}, {9, -1}},                      // weight
    {12, {17, 18, 19, -1}, {8, 13, -1}},         // depots of psychiatry
    {12, {20, 21, -1}, {22, 8, -1}},             // rheumatism
    {6, {11, 12, 27, -1}, {8, 10, -1}},          // clotting
    {6, {10, -1}, {9, 13, -1}},                  // kidneys
    {3, {23, -1}, {8, -1}},                      // bones
    {3, {24, -1}, {-1}},                         // rheumatic fever
    {2, {25, -1}, {-1}},                         // one dose only
    {3, {26, -1}, {13, 8, -1}},                  // prostate
};
// clang-format on
}  // namespace

int Regimen::dose_count() const {
  int count = 0;
  while (count < static_cast<int>(doses.size()) && doses[static_cast<std::size_t>(count)] > 0)
    ++count;
  return count;
}

std::span<const Regimen> formulary() { return kFormulary; }
std::span<const Need> needs() { return kNeeds; }

}  // namespace meniscus::year
