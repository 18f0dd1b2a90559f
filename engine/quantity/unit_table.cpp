// The rows of units and the hash table over them, both made at compile time.
//
// Source:  UCUM 2.2 (ucum.org): codes and definitions, case-sensitive form; pound, ounce, inch and
//          gallon are the exact international and US definitions.  The trade's spellings are common
//          practice; docs/units.md lists them.
#include "engine/quantity/unit_table.hpp"

#include <array>

namespace meniscus::engine::detail {
namespace {

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

constexpr UnitRow unit(std::string_view text, double factor, double divisor, Dimension dimension,
                       int flags) {
  return {text, factor, divisor, 0, dimension, static_cast<std::uint8_t>(flags)};
}

constexpr int kU = kInUcum | kInOrder;             // UCUM, and so in orders too
constexpr int kUR = kInUcum | kInOrder | kInRule;  // and in rules
constexpr int kO = kInOrder | kAnyCase;            // the trade's, in any case
constexpr int kOR = kO | kInRule;
constexpr int kExact = kInOrder;  // the trade's, in this case only
constexpr int kOC = kInOrder | kCompound;
constexpr int kUC = kInUcum | kInOrder | kCompound;

constexpr UnitRow kRows[] = {
    // ---- mass (mg)
    unit("mg", 1, 1, kMass, kUR | kAnyCase),
    unit("mcg", 1, kTen3, kMass, kOR),
    unit("g", kTen3, 1, kMass, kUR | kMetric | kAnyCase),
    unit("kg", kTen6, 1, kMass, kUR | kAnyCase | kPatient),
    unit("ug", 1, kTen3, kMass, kU | kAnyCase),
    unit("ng", 1, kTen6, kMass, kUR | kAnyCase),
    unit("pg", 1, 1e9, kMass, kU | kAnyCase),
    unit("\u00B5g", 1, kTen3, kMass, kExact),
    unit("\u03BCg", 1, kTen3, kMass, kExact),
    unit("Mg", 1, 1, kMass, kExact),  // nobody orders a megagram
    unit("gm", kTen3, 1, kMass, kO),
    unit("Gm", kTen3, 1, kMass, kExact),
    unit("gms", kTen3, 1, kMass, kO),
    unit("gram", kTen3, 1, kMass, kO),
    unit("grams", kTen3, 1, kMass, kO),
    unit("mgm", 1, 1, kMass, kO),
    unit("mgs", 1, 1, kMass, kO),
    unit("milligram", 1, 1, kMass, kO),
    unit("milligrams", 1, 1, kMass, kO),
    unit("mcgs", 1, kTen3, kMass, kO),
    unit("microgram", 1, kTen3, kMass, kO),
    unit("micrograms", 1, kTen3, kMass, kO),
    unit("nanogram", 1, kTen6, kMass, kO),
    unit("nanograms", 1, kTen6, kMass, kO),
    unit("kgs", kTen6, 1, kMass, kO | kPatient),
    unit("kilogram", kTen6, 1, kMass, kO | kPatient),
    unit("kilograms", kTen6, 1, kMass, kO | kPatient),
    unit("kilo", kTen6, 1, kMass, kO | kPatient),
    unit("kilos", kTen6, 1, kMass, kO | kPatient),
    unit("lb", 45359237, 100, kMass, kOR | kPatient),
    unit("lbs", 45359237, 100, kMass, kO | kPatient),
    unit("pound", 45359237, 100, kMass, kO | kPatient),
    unit("pounds", 45359237, 100, kMass, kO | kPatient),
    unit("t", 1e9, 1, kMass, kU | kMetric),
    unit("[lb_av]", 45359237, 100, kMass, kU | kPatient),
    unit("[oz_av]", 28349523125, kTen6, kMass, kU),
    unit("[gr]", 6479891, 1e5, kMass, kU),
    unit("[lb_tr]", 3732417216, 1e4, kMass, kU),
    unit("[oz_tr]", 311034768, 1e4, kMass, kU),
    unit("[oz_ap]", 311034768, 1e4, kMass, kU),
    // ---- volume (mm3: one millilitre is 1000)
    unit("mL", kTen3, 1, kVolume, kUR),
    unit("ml", kTen3, 1, kVolume, kU | kAnyCase),
    unit("ML", kTen3, 1, kVolume, kExact),  // nobody orders a megalitre
    unit("Ml", kTen3, 1, kVolume, kExact),
    unit("L", kTen6, 1, kVolume, kUR | kMetric),
    unit("l", kTen6, 1, kVolume, kU | kMetric),
    unit("uL", 1, 1, kVolume, kUR),
    unit("ul", 1, 1, kVolume, kU | kAnyCase),
    unit("dl", 1e5, 1, kVolume, kU | kAnyCase),
    unit("\u00B5L", 1, 1, kVolume, kExact),
    unit("\u03BCL", 1, 1, kVolume, kExact),
    unit("\u00B5l", 1, 1, kVolume, kExact),
    unit("\u03BCl", 1, 1, kVolume, kExact),
    unit("cc", kTen3, 1, kVolume, kO),
    unit("ccs", kTen3, 1, kVolume, kO),
    unit("mls", kTen3, 1, kVolume, kO),
    unit("mcl", 1, 1, kVolume, kO),
    unit("milliliter", kTen3, 1, kVolume, kO),
    unit("milliliters", kTen3, 1, kVolume, kO),
    unit("millilitre", kTen3, 1, kVolume, kO),
    unit("millilitres", kTen3, 1, kVolume, kO),
    unit("microliter", 1, 1, kVolume, kO),
    unit("microliters", 1, 1, kVolume, kO),
    unit("microlitre", 1, 1, kVolume, kO),
    unit("microlitres", 1, 1, kVolume, kO),
    unit("liter", kTen6, 1, kVolume, kO),
    unit("liters", kTen6, 1, kVolume, kO),
    unit("litre", kTen6, 1, kVolume, kO),
    unit("litres", kTen6, 1, kVolume, kO),
    unit("[drp]", 50, 1, kVolume, kU),
    unit("[tsp_us]", 492892159375, 1e8, kVolume, kU),
    unit("[tbs_us]", 1478676478125, 1e8, kVolume, kU),
    unit("[foz_us]", 295735295625, 1e7, kVolume, kU),
    unit("[cup_us]", 2365882365, 1e4, kVolume, kU),
    unit("[pt_us]", 473176473, kTen3, kVolume, kU),
    unit("[gal_us]", 3785411784, kTen3, kVolume, kU),
    unit("[min_us]", 61611519921875, 1e12, kVolume, kU),
    unit("[cin_i]", 16387064, kTen3, kVolume, kU),
    // ---- biological units.  `U` is an enzyme unit in UCUM and a biological unit in an order.
    unit("unit", 1, 1, kBiological, kOR),
    unit("units", 1, 1, kBiological, kOR),
    unit("u", 1, 1, kBiological, kO),
    unit("U", 1, 1, kBiological, kExact),
    unit("U", 1, 6e7, kCatalytic, kInUcum | kMetric),
    unit("iu", 1, 1, kBiological, kO),
    unit("IU", 1, 1, kBiological, kInOrder | kInRule),
    unit("ius", 1, 1, kBiological, kO),
    unit("ui", 1, 1, kBiological, kO),
    unit("ie", 1, 1, kBiological, kO),
    unit("unt", 1, 1, kBiological, kO),
    unit("unts", 1, 1, kBiological, kO),
    unit("ku", kTen3, 1, kBiological, kO),
    unit("kiu", kTen3, 1, kBiological, kO),
    unit("international unit", 1, 1, kBiological, kO),
    unit("international units", 1, 1, kBiological, kO),
    unit("usp unit", 1, 1, kBiological, kO),
    unit("usp units", 1, 1, kBiological, kO),
    unit("thousand units", kTen3, 1, kBiological, kO),
    unit("million units", kTen6, 1, kBiological, kO),
    unit("million iu", kTen6, 1, kBiological, kO),
    unit("[IU]", 1, 1, kBiological, kU | kMetric),
    unit("[iU]", 1, 1, kBiological, kU | kMetric),
    unit("[USP'U]", 1, 1, kBiological, kU),
    unit("[anti'Xa'U]", 1, 1, kBiological, kU),
    // ---- marks of a syringe
    unit("mark", 1, 1, kMark, kOR),
    unit("marks", 1, 1, kMark, kOR),
    // ---- time (s); a month is 30.4375 days, a year 365.25
    unit("s", 1, 1, kTime, kUR | kMetric),
    unit("sec", 1, 1, kTime, kO),
    unit("secs", 1, 1, kTime, kO),
    unit("second", 1, 1, kTime, kOR),
    unit("seconds", 1, 1, kTime, kOR),
    unit("min", 60, 1, kTime, kUR | kAnyCase),
    unit("mins", 60, 1, kTime, kO),
    unit("minute", 60, 1, kTime, kOR),
    unit("minutes", 60, 1, kTime, kOR),
    unit("h", 3600, 1, kTime, kUR | kAnyCase),
    unit("hr", 3600, 1, kTime, kO),
    unit("hrs", 3600, 1, kTime, kO),
    unit("hour", 3600, 1, kTime, kOR),
    unit("hours", 3600, 1, kTime, kOR),
    unit("d", 86400, 1, kTime, kU | kAnyCase),
    unit("day", 86400, 1, kTime, kOR),
    unit("days", 86400, 1, kTime, kOR),
    unit("wk", 604800, 1, kTime, kUR | kAnyCase),
    unit("wks", 604800, 1, kTime, kO),
    unit("week", 604800, 1, kTime, kOR),
    unit("weeks", 604800, 1, kTime, kOR),
    unit("fortnight", 1209600, 1, kTime, kO),
    unit("mo", 2629800, 1, kTime, kUR | kAnyCase),
    unit("mos", 2629800, 1, kTime, kO),
    unit("month", 2629800, 1, kTime, kOR),
    unit("months", 2629800, 1, kTime, kOR),
    unit("mo_j", 2629800, 1, kTime, kU),
    unit("mo_g", 2629746, 1, kTime, kU),
    unit("mo_s", 2551442976, kTen3, kTime, kU),
    unit("a", 31557600, 1, kTime, kU),
    unit("a_j", 31557600, 1, kTime, kU),
    unit("a_g", 31556952, 1, kTime, kU),
    unit("a_t", 31556925216, kTen3, kTime, kU),
    unit("y", 31557600, 1, kTime, kO),
    unit("yr", 31557600, 1, kTime, kO),
    unit("yrs", 31557600, 1, kTime, kO),
    unit("year", 31557600, 1, kTime, kOR),
    unit("years", 31557600, 1, kTime, kOR),
    unit("Hz", 1, 1, kPerTime, kU | kMetric),
    // ---- length and area (mm, mm2)
    unit("mm", 1, 1, kLength, kUR | kAnyCase),
    unit("cm", 10, 1, kLength, kUR | kAnyCase),
    unit("m", kTen3, 1, kLength, kUR | kMetric),
    unit("in", 254, 10, kLength, kOR),
    unit("inch", 254, 10, kLength, kO),
    unit("inches", 254, 10, kLength, kO),
    unit("\"", 254, 10, kLength, kExact),
    unit("\u201D", 254, 10, kLength, kExact),
    unit("\u2033", 254, 10, kLength, kExact),
    unit("ft", 3048, 10, kLength, kO),
    unit("foot", 3048, 10, kLength, kO),
    unit("feet", 3048, 10, kLength, kO),
    unit("millimeter", 1, 1, kLength, kO),
    unit("millimeters", 1, 1, kLength, kO),
    unit("millimetre", 1, 1, kLength, kO),
    unit("millimetres", 1, 1, kLength, kO),
    unit("centimeter", 10, 1, kLength, kO),
    unit("centimeters", 10, 1, kLength, kO),
    unit("centimetre", 10, 1, kLength, kO),
    unit("centimetres", 10, 1, kLength, kO),
    unit("meter", kTen3, 1, kLength, kO),
    unit("meters", kTen3, 1, kLength, kO),
    unit("metre", kTen3, 1, kLength, kO),
    unit("metres", kTen3, 1, kLength, kO),
    unit("[in_i]", 254, 10, kLength, kU),
    unit("[ft_i]", 3048, 10, kLength, kU),
    unit("[yd_i]", 9144, 10, kLength, kU),
    unit("[mil_i]", 254, 1e4, kLength, kU),
    unit("[in_us]", 1e5, 3937, kLength, kU),
    unit("[Ch]", 1, 3, kLength, kU),
    unit("[sin_i]", 64516, 100, kArea, kU),
    // ---- amount of substance and equivalents (mol, eq)
    unit("mol", 1, 1, kAmountOfSubstance, kU | kMetric | kAnyCase),
    unit("mmol", 1, kTen3, kAmountOfSubstance, kUR | kAnyCase),
    unit("Mmol", 1, kTen3, kAmountOfSubstance, kExact),
    unit("millimole", 1, kTen3, kAmountOfSubstance, kO),
    unit("millimoles", 1, kTen3, kAmountOfSubstance, kO),
    unit("osm", 1, 1, kAmountOfSubstance, kU | kMetric),
    unit("kat", 1, 1, kCatalytic, kU | kMetric),
    unit("eq", 1, 1, kEquivalent, kU | kMetric | kAnyCase),
    unit("meq", 1, kTen3, kEquivalent, kU | kAnyCase),
    unit("mEq", 1, kTen3, kEquivalent, kInOrder | kInRule),
    unit("Meq", 1, kTen3, kEquivalent, kExact),
    unit("milliequivalent", 1, kTen3, kEquivalent, kO),
    unit("milliequivalents", 1, kTen3, kEquivalent, kO),
    // ---- temperature (K); the scales with an offset stand alone
    unit("K", 1, 1, kTemperature, kInUcum | kMetric),
    {"Cel", 1, 1, 273.15, kTemperature, kU},
    {"[degF]", 5, 9, 459.67 * 5 / 9, kTemperature, kU},
    {"degc", 1, 1, 273.15, kTemperature, kO},
    {"\u00B0c", 1, 1, 273.15, kTemperature, kO},
    {"degf", 5, 9, 459.67 * 5 / 9, kTemperature, kO},
    {"\u00B0f", 5, 9, 459.67 * 5 / 9, kTemperature, kO},
    // ---- pressure, force, energy, viscosity (base: mg, mm, s)
    unit("Pa", kTen3, 1, kPressure, kUR | kMetric),
    unit("kPa", kTen6, 1, kPressure, kUR),
    unit("bar", 1e8, 1, kPressure, kU | kMetric),
    unit("atm", 101325000, 1, kPressure, kU),
    unit("m[Hg]", 133322000, 1, kPressure, kU | kMetric),
    unit("m[H2O]", 9806650, 1, kPressure, kU | kMetric),
    unit("[in_i'Hg]", 33863788, 10, kPressure, kU),
    unit("[psi]", 6894757293168, kTen6, kPressure, kU),
    unit("mmhg", 133322, 1, kPressure, kO),
    unit("psi", 6894757293168, kTen6, kPressure, kO),
    unit("N", 1e9, 1, kForce, kUR | kMetric),
    unit("newton", 1e9, 1, kForce, kO),
    unit("newtons", 1e9, 1, kForce, kO),
    unit("dyn", 1e4, 1, kForce, kU | kMetric),
    unit("J", 1e12, 1, kEnergy, kU | kMetric),
    unit("cal", 4184e9, 1, kEnergy, kU | kMetric),
    unit("P", 100, 1, kViscosity, kU | kMetric),
    unit("cP", 1, 1, kViscosity, kUR),
    unit("mPa.s", 1, 1, kViscosity, kUR | kCompound),
    unit("centipoise", 1, 1, kViscosity, kO),
    unit("St", 100, 1, kKinematic, kU | kMetric),
    // ---- numbers
    unit("%", 1, 100, kNumber, kUR),
    unit("percent", 1, 100, kNumber, kO),
    unit("[ppth]", 1, kTen3, kNumber, kU),
    unit("[ppm]", 1, kTen6, kNumber, kU),
    unit("[ppb]", 1, 1e9, kNumber, kU),
    unit("[pi]", 3.14159265358979323846, 1, kNumber, kU),
    unit("g%", 1, 100, kMassPerVolume, kU | kMetric),
    // ---- compound forms that orders are full of
    unit("mg/mL", 1, kTen3, kMassPerVolume, kUC | kInRule),
    unit("mg/ml", 1, kTen3, kMassPerVolume, kUC),
    unit("MG/ML", 1, kTen3, kMassPerVolume, kOC),
    unit("mcg/mL", 1, kTen6, kMassPerVolume, kOC | kInRule),
    unit("mcg/ml", 1, kTen6, kMassPerVolume, kOC),
    unit("MCG/ML", 1, kTen6, kMassPerVolume, kOC),
    unit("ug/mL", 1, kTen6, kMassPerVolume, kUC),
    unit("g/mL", 1, 1, kMassPerVolume, kUC | kInRule),
    unit("g/L", 1, kTen3, kMassPerVolume, kUC | kInRule),
    unit("g/dL", 1, 100, kMassPerVolume, kUC),
    unit("mg/dL", 1, 1e5, kMassPerVolume, kUC),
    unit("mg/L", 1, kTen6, kMassPerVolume, kUC | kInRule),
    unit("units/mL", 1, kTen3, kBiologicalPerVolume, kOC | kInRule),
    unit("units/ml", 1, kTen3, kBiologicalPerVolume, kOC),
    unit("unit/mL", 1, kTen3, kBiologicalPerVolume, kOC | kInRule),
    unit("UNITS/ML", 1, kTen3, kBiologicalPerVolume, kOC),
    unit("IU/mL", 1, kTen3, kBiologicalPerVolume, kOC | kInRule),
    unit("[IU]/mL", 1, kTen3, kBiologicalPerVolume, kUC),
    unit("[iU]/mL", 1, kTen3, kBiologicalPerVolume, kUC),
    unit("mg/kg", 1, kTen6, kMassPerBodyMass, kUC | kInRule),
    unit("MG/KG", 1, kTen6, kMassPerBodyMass, kOC),
    unit("mcg/kg", 1, 1e9, kMassPerBodyMass, kOC | kInRule),
    unit("ug/kg", 1, 1e9, kMassPerBodyMass, kUC),
    unit("units/kg", 1, kTen6, kBiologicalPerBodyMass, kOC | kInRule),
    unit("mL/mark", kTen3, 1, kVolumePerMark, kOC | kInRule),
    unit("mL/s", kTen3, 1, kVolume / kTime, kUC | kInRule),
    unit("mL/h", kTen3, 3600, kVolume / kTime, kUC | kInRule),
};
constexpr std::size_t kRowCount = sizeof kRows / sizeof kRows[0];

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

constexpr char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; }

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
