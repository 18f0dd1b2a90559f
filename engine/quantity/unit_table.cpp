// The rows of units and the hash table over them, both made at compile time.
//
// Source:  UCUM 2.2 (ucum.org): codes and definitions, case-sensitive form; pound, ounce, inch and
//          gallon are the exact international and US definitions.  The trade's spellings are common
//          practice; docs/units.md lists them.
#include "engine/quantity/unit_table.hpp"

#include <algorithm>
#include <array>

#include "engine/base/ascii.hpp"

namespace meniscus::engine::detail {
namespace {

using ascii::lower;

using enum UnitFlag;
using namespace dim;  // NOLINT(google-build-using-namespace): the rows are a table of its names

constexpr Dimension kPerTime = kNumber / kTime;
constexpr Dimension kCatalytic = kAmountOfSubstance / kTime;
constexpr Dimension kEnergy = kForce * kLength;
constexpr Dimension kKinematic = kArea / kTime;
constexpr Dimension kMassPerBodyMass = kMass / kBodyMass;
constexpr Dimension kBiologicalPerBodyMass = kBiological / kBodyMass;

constexpr double kTen3 = 1e3;
constexpr double kTen6 = 1e6;

/// One unit and its spellings, `|` between them.
struct Spellings {
  std::string_view texts;
  UnitRow unit;  // without a text
};
constexpr Spellings scales(std::string_view texts, double factor, double divisor, double offset,
                           Dimension dimension, int flags) {
  return {texts, {{}, factor, divisor, offset, dimension, static_cast<std::uint8_t>(flags)}};
}
constexpr Spellings units(std::string_view texts, double factor, double divisor,
                          Dimension dimension, int flags) {
  return scales(texts, factor, divisor, 0, dimension, flags);
}

constexpr int kU = kInUcum | kInOrder;             // UCUM, and so in orders too
constexpr int kUR = kInUcum | kInOrder | kInRule;  // and in rules
constexpr int kO = kInOrder | kAnyCase;            // the trade's, in any case
constexpr int kOR = kO | kInRule;
constexpr int kExact = kInOrder;  // the trade's, in this case only
constexpr int kOC = kInOrder | kCompound;
constexpr int kUC = kInUcum | kInOrder | kCompound;

constexpr Spellings kSpellings[] = {
    // ---- mass (mg)
    units("mg", 1, 1, kMass, kUR | kAnyCase),
    units("mcg", 1, kTen3, kMass, kOR),
    units("g", kTen3, 1, kMass, kUR | kMetric | kAnyCase),
    units("kg", kTen6, 1, kMass, kUR | kAnyCase | kPatient),
    units("ug", 1, kTen3, kMass, kU | kAnyCase),
    units("ng", 1, kTen6, kMass, kUR | kAnyCase),
    units("pg", 1, 1e9, kMass, kU | kAnyCase),
    units("\u00B5g|\u03BCg", 1, kTen3, kMass, kExact),
    units("Mg", 1, 1, kMass, kExact),  // nobody orders a megagram
    units("gm|gms|gram|grams", kTen3, 1, kMass, kO),
    units("Gm", kTen3, 1, kMass, kExact),
    units("mgm|mgs|milligram|milligrams", 1, 1, kMass, kO),
    units("mcgs|microgram|micrograms", 1, kTen3, kMass, kO),
    units("nanogram|nanograms", 1, kTen6, kMass, kO),
    units("kgs|kilogram|kilograms|kilo|kilos", kTen6, 1, kMass, kO | kPatient),
    units("lb", 45359237, 100, kMass, kOR | kPatient),
    units("lbs|pound|pounds", 45359237, 100, kMass, kO | kPatient),
    units("t", 1e9, 1, kMass, kU | kMetric),
    units("[lb_av]", 45359237, 100, kMass, kU | kPatient),
    units("[oz_av]", 28349523125, kTen6, kMass, kU),
    units("[gr]", 6479891, 1e5, kMass, kU),
    units("[lb_tr]", 3732417216, 1e4, kMass, kU),
    units("[oz_tr]|[oz_ap]", 311034768, 1e4, kMass, kU),
    // ---- volume (mm3: one millilitre is 1000)
    units("mL", kTen3, 1, kVolume, kUR),
    units("ml", kTen3, 1, kVolume, kU | kAnyCase),
    units("ML", kTen3, 1, kVolume, kExact),  // nobody orders a megalitre
    units("Ml", kTen3, 1, kVolume, kExact),
    units("L", kTen6, 1, kVolume, kUR | kMetric),
    units("l", kTen6, 1, kVolume, kU | kMetric),
    units("uL", 1, 1, kVolume, kUR),
    units("ul", 1, 1, kVolume, kU | kAnyCase),
    units("dl", 1e5, 1, kVolume, kU | kAnyCase),
    units("\u00B5L|\u03BCL|\u00B5l|\u03BCl", 1, 1, kVolume, kExact),
    units("cc|ccs|mls|milliliter|milliliters|millilitre|millilitres", kTen3, 1, kVolume, kO),
    units("mcl|microliter|microliters|microlitre|microlitres", 1, 1, kVolume, kO),
    units("liter|liters|litre|litres", kTen6, 1, kVolume, kO),
    units("[drp]", 50, 1, kVolume, kU),
    units("[tsp_us]", 492892159375, 1e8, kVolume, kU),
    units("[tbs_us]", 1478676478125, 1e8, kVolume, kU),
    units("[foz_us]", 295735295625, 1e7, kVolume, kU),
    units("[cup_us]", 2365882365, 1e4, kVolume, kU),
    units("[pt_us]", 473176473, kTen3, kVolume, kU),
    units("[gal_us]", 3785411784, kTen3, kVolume, kU),
    units("[min_us]", 61611519921875, 1e12, kVolume, kU),
    units("[cin_i]", 16387064, kTen3, kVolume, kU),
    // ---- biological units.  `U` is an enzyme unit in UCUM and a biological unit in an order.
    units("unit|units", 1, 1, kBiological, kOR),
    units("u|iu|ius|ui|ie|unt|unts|international unit|international units|usp unit|usp units", 1, 1,
          kBiological, kO),
    units("U", 1, 1, kBiological, kExact),
    units("U", 1, 6e7, kCatalytic, kInUcum | kMetric),
    units("IU", 1, 1, kBiological, kInOrder | kInRule),
    units("ku|kiu|thousand units", kTen3, 1, kBiological, kO),
    units("million units|million iu", kTen6, 1, kBiological, kO),
    units("[IU]|[iU]", 1, 1, kBiological, kU | kMetric),
    units("[USP'U]|[anti'Xa'U]", 1, 1, kBiological, kU),
    // ---- marks of a syringe
    units("mark|marks", 1, 1, kMark, kOR),
    // ---- time (s); a month is 30.4375 days, a year 365.25
    units("s", 1, 1, kTime, kUR | kMetric),
    units("sec|secs", 1, 1, kTime, kO),
    units("second|seconds", 1, 1, kTime, kOR),
    units("min", 60, 1, kTime, kUR | kAnyCase),
    units("mins", 60, 1, kTime, kO),
    units("minute|minutes", 60, 1, kTime, kOR),
    units("h", 3600, 1, kTime, kUR | kAnyCase),
    units("hr|hrs", 3600, 1, kTime, kO),
    units("hour|hours", 3600, 1, kTime, kOR),
    units("d", 86400, 1, kTime, kU | kAnyCase),
    units("day|days", 86400, 1, kTime, kOR),
    units("wk", 604800, 1, kTime, kUR | kAnyCase),
    units("wks", 604800, 1, kTime, kO),
    units("week|weeks", 604800, 1, kTime, kOR),
    units("fortnight", 1209600, 1, kTime, kO),
    units("mo", 2629800, 1, kTime, kUR | kAnyCase),
    units("mos", 2629800, 1, kTime, kO),
    units("month|months", 2629800, 1, kTime, kOR),
    units("mo_j", 2629800, 1, kTime, kU),
    units("mo_g", 2629746, 1, kTime, kU),
    units("mo_s", 2551442976, kTen3, kTime, kU),
    units("a|a_j", 31557600, 1, kTime, kU),
    units("a_g", 31556952, 1, kTime, kU),
    units("a_t", 31556925216, kTen3, kTime, kU),
    units("y|yr|yrs", 31557600, 1, kTime, kO),
    units("year|years", 31557600, 1, kTime, kOR),
    units("Hz", 1, 1, kPerTime, kU | kMetric),
    // ---- length and area (mm, mm2)
    units("mm", 1, 1, kLength, kUR | kAnyCase),
    units("cm", 10, 1, kLength, kUR | kAnyCase),
    units("m", kTen3, 1, kLength, kUR | kMetric),
    units("in", 254, 10, kLength, kOR),
    units("inch|inches", 254, 10, kLength, kO),
    units("\"|\u201D|\u2033", 254, 10, kLength, kExact),
    units("ft|foot|feet", 3048, 10, kLength, kO),
    units("millimeter|millimeters|millimetre|millimetres", 1, 1, kLength, kO),
    units("centimeter|centimeters|centimetre|centimetres", 10, 1, kLength, kO),
    units("meter|meters|metre|metres", kTen3, 1, kLength, kO),
    units("[in_i]", 254, 10, kLength, kU),
    units("[ft_i]", 3048, 10, kLength, kU),
    units("[yd_i]", 9144, 10, kLength, kU),
    units("[mil_i]", 254, 1e4, kLength, kU),
    units("[in_us]", 1e5, 3937, kLength, kU),
    units("[Ch]", 1, 3, kLength, kU),
    units("[sin_i]", 64516, 100, kArea, kU),
    // ---- amount of substance and equivalents (mol, eq)
    units("mol", 1, 1, kAmountOfSubstance, kU | kMetric | kAnyCase),
    units("mmol", 1, kTen3, kAmountOfSubstance, kUR | kAnyCase),
    units("Mmol", 1, kTen3, kAmountOfSubstance, kExact),
    units("millimole|millimoles", 1, kTen3, kAmountOfSubstance, kO),
    units("osm", 1, 1, kAmountOfSubstance, kU | kMetric),
    units("kat", 1, 1, kCatalytic, kU | kMetric),
    units("eq", 1, 1, kEquivalent, kU | kMetric | kAnyCase),
    units("meq", 1, kTen3, kEquivalent, kU | kAnyCase),
    units("mEq", 1, kTen3, kEquivalent, kInOrder | kInRule),
    units("Meq", 1, kTen3, kEquivalent, kExact),
    units("milliequivalent|milliequivalents", 1, kTen3, kEquivalent, kO),
    // ---- temperature (K); the scales with an offset stand alone
    units("K", 1, 1, kTemperature, kInUcum | kMetric),
    scales("Cel", 1, 1, 273.15, kTemperature, kU),
    scales("[degF]", 5, 9, 459.67 * 5 / 9, kTemperature, kU),
    scales("degc|\u00B0c", 1, 1, 273.15, kTemperature, kO),
    scales("degf|\u00B0f", 5, 9, 459.67 * 5 / 9, kTemperature, kO),
    // ---- pressure, force, energy, viscosity (base: mg, mm, s)
    units("Pa", kTen3, 1, kPressure, kUR | kMetric),
    units("kPa", kTen6, 1, kPressure, kUR),
    units("bar", 1e8, 1, kPressure, kU | kMetric),
    units("atm", 101325000, 1, kPressure, kU),
    units("m[Hg]", 133322000, 1, kPressure, kU | kMetric),
    units("m[H2O]", 9806650, 1, kPressure, kU | kMetric),
    units("[in_i'Hg]", 33863788, 10, kPressure, kU),
    units("[psi]", 6894757293168, kTen6, kPressure, kU),
    units("mmhg", 133322, 1, kPressure, kO),
    units("psi", 6894757293168, kTen6, kPressure, kO),
    units("N", 1e9, 1, kForce, kUR | kMetric),
    units("newton|newtons", 1e9, 1, kForce, kO),
    units("dyn", 1e4, 1, kForce, kU | kMetric),
    units("J", 1e12, 1, kEnergy, kU | kMetric),
    units("cal", 4184e9, 1, kEnergy, kU | kMetric),
    units("P", 100, 1, kViscosity, kU | kMetric),
    units("cP", 1, 1, kViscosity, kUR),
    units("mPa.s", 1, 1, kViscosity, kUR | kCompound),
    units("centipoise", 1, 1, kViscosity, kO),
    units("St", 100, 1, kKinematic, kU | kMetric),
    // ---- numbers
    units("%", 1, 100, kNumber, kUR),
    units("percent", 1, 100, kNumber, kO),
    units("[ppth]", 1, kTen3, kNumber, kU),
    units("[ppm]", 1, kTen6, kNumber, kU),
    units("[ppb]", 1, 1e9, kNumber, kU),
    units("[pi]", 3.14159265358979323846, 1, kNumber, kU),
    units("g%", 1, 100, kMassPerVolume, kU | kMetric),
    // ---- compound forms that orders are full of
    units("mg/mL|g/L", 1, kTen3, kMassPerVolume, kUC | kInRule),
    units("mg/ml", 1, kTen3, kMassPerVolume, kUC),
    units("MG/ML", 1, kTen3, kMassPerVolume, kOC),
    units("mcg/mL", 1, kTen6, kMassPerVolume, kOC | kInRule),
    units("mcg/ml|MCG/ML", 1, kTen6, kMassPerVolume, kOC),
    units("ug/mL", 1, kTen6, kMassPerVolume, kUC),
    units("g/mL", 1, 1, kMassPerVolume, kUC | kInRule),
    units("g/dL", 1, 100, kMassPerVolume, kUC),
    units("mg/dL", 1, 1e5, kMassPerVolume, kUC),
    units("mg/L", 1, kTen6, kMassPerVolume, kUC | kInRule),
    units("units/mL|unit/mL|IU/mL", 1, kTen3, kBiologicalPerVolume, kOC | kInRule),
    units("units/ml|UNITS/ML", 1, kTen3, kBiologicalPerVolume, kOC),
    units("[IU]/mL|[iU]/mL", 1, kTen3, kBiologicalPerVolume, kUC),
    units("mg/kg", 1, kTen6, kMassPerBodyMass, kUC | kInRule),
    units("MG/KG", 1, kTen6, kMassPerBodyMass, kOC),
    units("mcg/kg", 1, 1e9, kMassPerBodyMass, kOC | kInRule),
    units("ug/kg", 1, 1e9, kMassPerBodyMass, kUC),
    units("units/kg", 1, kTen6, kBiologicalPerBodyMass, kOC | kInRule),
    units("mL/mark", kTen3, 1, kVolumePerMark, kOC | kInRule),
    units("mL/s", kTen3, 1, kVolume / kTime, kUC | kInRule),
    units("mL/h", kTen3, 3600, kVolume / kTime, kUC | kInRule),
};

constexpr std::size_t kRowCount = [] {
  std::size_t count = 0;
  for (const Spellings& s : kSpellings)
    count += 1 + static_cast<std::size_t>(std::ranges::count(s.texts, '|'));
  return count;
}();

constexpr std::array<UnitRow, kRowCount> kRows = [] {
  std::array<UnitRow, kRowCount> rows{};
  std::size_t at = 0;
  for (const Spellings& s : kSpellings) {
    std::string_view rest = s.texts;
    for (bool more = true; more;) {
      const std::size_t end = rest.find('|');
      more = end != std::string_view::npos;
      rows[at] = s.unit;
      rows[at++].text = rest.substr(0, end);
      if (more) rest.remove_prefix(end + 1);
    }
  }
  return rows;
}();

constexpr std::size_t kSlots = 1024;
static_assert(kRowCount * 3 < kSlots, "keep the table sparse: most look-ups should probe once");

constexpr std::size_t slot_of(std::string_view text) {
  std::uint32_t hash = static_cast<std::uint32_t>(text.size());
  for (const char c : text)
    hash = hash * 31 + static_cast<unsigned char>(c);
  return (hash * 0x9E3779B1U) >> 22;
}
static_assert(kSlots == 1U << (32 - 22));

constexpr std::uint16_t kEmpty = 0xFFFF;
constexpr std::array<std::uint16_t, kSlots> kBySpelling = [] {
  std::array<std::uint16_t, kSlots> slots{};
  for (std::uint16_t& slot : slots)
    slot = kEmpty;
  for (std::size_t i = 0; i < kRowCount; ++i) {
    std::size_t at = slot_of(kRows[i].text);
    while (slots[at] != kEmpty)
      at = (at + 1) % kSlots;
    slots[at] = static_cast<std::uint16_t>(i);
  }
  return slots;
}();

constexpr Prefix kPrefixes[] = {
    {"da", 10, 1},  {"k", 1e3, 1},  {"m", 1, 1e3},  {"u", 1, 1e6},  {"n", 1, 1e9},
    {"d", 1, 10},   {"c", 1, 100},  {"p", 1, 1e12}, {"f", 1, 1e15}, {"M", 1e6, 1},
    {"G", 1e9, 1},  {"h", 100, 1},  {"T", 1e12, 1}, {"a", 1, 1e18}, {"P", 1e15, 1},
    {"E", 1e18, 1}, {"z", 1, 1e21}, {"Z", 1e21, 1}, {"y", 1, 1e24}, {"Y", 1e24, 1},
};

struct Doubtful {
  std::string_view text;  // lower case
  std::string_view why;
};
constexpr std::string_view kMilliOrMillion = "thousandths or millions of units";
constexpr std::string_view kDrops = "the size of a drop depends on the set; write the volume";
constexpr Doubtful kDoubtful[] = {
    {"gr", "grain or gram; write `[gr]` or `g`"},
    {"grs", "grains or grams; write `[gr]` or `g`"},
    {"k", "thousand or kelvin; write the number out"},
    {"mu", kMilliOrMillion},
    {"miu", kMilliOrMillion},
    {"munits", kMilliOrMillion},
    {"mm units", kMilliOrMillion},
    {"oz", "ounce of mass or of volume; write `[oz_av]` or `[foz_us]`"},
    {"ounce", "ounce of mass or of volume; write `[oz_av]` or `[foz_us]`"},
    {"ounces", "ounces of mass or of volume; write `[oz_av]` or `[foz_us]`"},
    {"gtt", kDrops},
    {"gtts", kDrops},
    {"drop", kDrops},
    {"drops", kDrops},
};

bool same_in_any_case(std::string_view text, std::string_view lowered) {
  if (text.size() != lowered.size()) return false;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (lower(text[i]) != lowered[i]) return false;
  return true;
}

}  // namespace

const UnitRow* find_row(std::string_view text, std::uint8_t flags) {
  for (std::size_t at = slot_of(text); kBySpelling[at] != kEmpty; at = (at + 1) % kSlots) {
    const UnitRow& row = kRows[kBySpelling[at]];
    if ((row.flags & flags) == flags && row.text == text) return &row;
  }
  return nullptr;
}

std::span<const UnitRow> unit_rows() { return kRows; }
std::span<const Prefix> prefixes() { return kPrefixes; }

std::string_view why_doubtful(std::string_view text) {
  if (text == "M") return "thousand, million or metre; write the number out";
  for (const Doubtful& row : kDoubtful)
    if (same_in_any_case(text, row.text)) return row.why;
  return {};
}

}  // namespace meniscus::engine::detail
