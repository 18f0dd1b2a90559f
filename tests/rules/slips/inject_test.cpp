// The mistakes that are put into sound orders (contract: defects.hpp).
#include <array>
#include <charconv>
#include <cmath>

#include "engine/order/field.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"
#include "tests/rules/slips/defects.hpp"

namespace meniscus::rules_tests {

namespace {

Json::json_pointer place(const std::string& field) {
  std::string path = "/" + field;
  for (char& c : path)
    if (c == '.') c = '/';
  return Json::json_pointer(path);
}

}  // namespace

std::string text_of(const Json& order, const std::string& field) {
  const Json::json_pointer at = place(field);
  if (!order.contains(at) || !order.at(at).is_string()) return {};
  return order.at(at).get<std::string>();
}

void set_text(Json& order, const std::string& field, const std::string& text) {
  const engine::FieldKind kind = info(*engine::field_named(field)).kind;
  if (kind == engine::FieldKind::Count) {
    order[place(field)] = std::stol(text);
  } else {
    order[place(field)] = text;
  }
}

namespace {

struct Parts {
  double number = 0;
  std::string unit;
};

/// "0.25 mL" apart; number 0 where the text is no such quantity.
Parts parts_of(const std::string& text) {
  Parts parts;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), parts.number);
  if (read.ec != std::errc{} || *read.ptr != ' ') return {};
  parts.unit = std::string(read.ptr + 1, text.data() + text.size());
  if (parts.unit.find_first_of("0123456789") != std::string::npos) return {};
  return parts;
}
std::string joined(double number, const std::string& unit) {
  return engine::format_number(number, 9) + " " + unit;
}

using Mistakes = std::vector<Mistake>;

void add(Mistakes& out, const Json& sound, const std::string& field, const std::string& text) {
  const std::string meant = text_of(sound, field);
  if (meant.empty() || text == meant) return;
  Mistake mistake{sound, field, meant};
  set_text(mistake.order, field, text);
  out.push_back(std::move(mistake));
}

constexpr std::array kAmounts = {"dose",  "volume",        "strength", "dose-per-weight",
                                 "marks", "patient.weight"};

Mistakes multiplied(const Json& sound, const std::vector<double>& factors,
                    const std::function<bool(const Parts&)>& fits) {
  Mistakes out;
  for (const char* field : kAmounts) {
    const Parts parts = parts_of(text_of(sound, field));
    if (parts.number == 0 || !fits(parts)) continue;
    for (const double factor : factors)
      add(out, sound, field, joined(parts.number * factor, parts.unit));
  }
  return out;
}

bool whole(double number) { return std::fabs(number - std::round(number)) < 1e-9; }

/// Fields whose unit is one of the pair get the other.
Mistakes other_unit(const Json& sound) {
  static const std::vector<std::pair<std::string, std::string>> kPairs = {
      {"mg", "mcg"},       {"mcg", "mg"},        {"mg", "g"},         {"mg", "units"},
      {"units", "mg"},     {"kg", "lb"},         {"mg/mL", "mcg/mL"}, {"mcg/mL", "mg/mL"},
      {"mg/kg", "mcg/kg"}, {"units/mL", "mg/mL"}};
  Mistakes out;
  for (const char* field : kAmounts) {
    const Parts parts = parts_of(text_of(sound, field));
    for (const auto& [from, to] : kPairs)
      if (parts.unit == from) add(out, sound, field, joined(parts.number, to));
  }
  return out;
}

/// Strengths that the shipped products.csv has for one medicine.
Mistakes other_strength(const Json& sound) {
  static const std::vector<std::pair<std::string, std::vector<std::string>>> kStocked = {
      {"testosterone-cypionate", {"100 mg/mL", "200 mg/mL"}},
      {"estradiol-valerate", {"10 mg/mL", "20 mg/mL", "40 mg/mL"}},
      {"methotrexate", {"10 mg/mL", "25 mg/mL", "50 mg/mL"}},
      {"semaglutide", {"2.5 mg/mL", "5 mg/mL"}},
      {"insulin-glargine", {"100 units/mL", "300 units/mL"}},
      {"insulin-regular", {"40 units/mL", "100 units/mL", "500 units/mL"}},
      {"dalteparin", {"10000 units/mL", "12500 units/mL", "25000 units/mL"}},
      {"enoxaparin", {"100 mg/mL", "150 mg/mL"}},
      {"haloperidol-decanoate", {"50 mg/mL", "100 mg/mL"}},
      {"heparin", {"1000 units/mL", "5000 units/mL", "10000 units/mL", "20000 units/mL"}}};
  Mistakes out;
  for (const auto& [code, strengths] : kStocked) {
    if (text_of(sound, "substance.code") != code) continue;
    for (const std::string& strength : strengths)
      add(out, sound, "strength", strength);
  }
  return out;
}

Mistakes marks_for_millilitres(const Json& sound) {
  Mistakes out;
  const Parts volume = parts_of(text_of(sound, "volume"));
  if (text_of(sound, "syringe.scale") == "U-100") {
    add(out, sound, "volume", joined(volume.number * 100, "mL"));
  }
  const Parts marks = parts_of(text_of(sound, "marks"));
  if (marks.number > 0) add(out, sound, "marks", joined(marks.number / 100, "marks"));
  return out;
}

Mistakes day_for_week(const Json& sound) {
  Mistakes out;
  const Parts every = parts_of(text_of(sound, "schedule.every"));
  if (every.unit == "wk") add(out, sound, "schedule.every", joined(every.number, "day"));
  if (every.unit == "day") add(out, sound, "schedule.every", joined(every.number, "wk"));
  if (every.unit == "days" && every.number == 7) add(out, sound, "schedule.every", "1 day");
  return out;
}

Mistakes other_side(const Json& sound) {
  Mistakes out;
  const std::string directions = text_of(sound, "order.directions");
  const std::string side = text_of(sound, "side");
  if (directions.find(side) == std::string::npos) return out;
  add(out, sound, "side", side == "left" ? "right" : "left");
  return out;
}

Mistakes other_site(const Json& sound) {
  Mistakes out;
  const std::string directions = text_of(sound, "order.directions");
  const std::string site = text_of(sound, "site");
  if (directions.find(site) == std::string::npos) return out;
  for (const char* other : {"abdomen", "thigh", "upper-arm", "hand"})
    add(out, sound, "site", other);
  return out;
}

Mistakes needles_exchanged(const Json& sound) {
  Mistakes out;
  const std::string gauge = text_of(sound, "needle.gauge");
  const std::string draw = text_of(sound, "draw-needle.gauge");
  if (gauge.empty() || draw.empty()) return out;
  add(out, sound, "draw-needle.gauge", gauge);
  set_text(out.back().order, "needle.gauge", draw);
  const std::string length = text_of(sound, "needle.length");
  const std::string draw_length = text_of(sound, "draw-needle.length");
  if (length.empty() || draw_length.empty()) return out;
  out.push_back(out.back());
  set_text(out.back().order, "needle.length", draw_length);
  set_text(out.back().order, "draw-needle.length", length);
  return out;
}

Mistakes next_gauge(const Json& sound) {
  static const std::vector<std::string> kGauges = {"18 G", "20 G", "21 G", "22 G", "23 G",
                                                   "25 G", "27 G", "30 G", "32 G"};
  Mistakes out;
  for (std::size_t i = 0; i < kGauges.size(); ++i) {
    if (text_of(sound, "needle.gauge") != kGauges[i]) continue;
    if (i > 0) add(out, sound, "needle.gauge", kGauges[i - 1]);
    if (i + 1 < kGauges.size()) add(out, sound, "needle.gauge", kGauges[i + 1]);
  }
  return out;
}

Mistakes next_length(const Json& sound) {
  static const std::vector<std::string> kLengths = {"8 mm", "1/2 in", "5/8 in", "1 in", "1 1/2 in"};
  Mistakes out;
  for (std::size_t i = 0; i < kLengths.size(); ++i) {
    if (text_of(sound, "needle.length") != kLengths[i]) continue;
    if (i > 0) add(out, sound, "needle.length", kLengths[i - 1]);
    if (i + 1 < kLengths.size()) add(out, sound, "needle.length", kLengths[i + 1]);
  }
  return out;
}

Mistakes other_route(const Json& sound) {
  Mistakes out;
  for (const char* route : {"subcutaneous", "intramuscular", "intradermal", "intravenous"})
    add(out, sound, "route", route);
  return out;
}

/// A sum that went wrong: the volume of another dose, or of another strength.
Mistakes wrong_volume(const Json& sound) {
  Mistakes out;
  const Parts volume = parts_of(text_of(sound, "volume"));
  for (const double factor : {0.5, 1.3, 2.0, 3.0})
    add(out, sound, "volume", joined(volume.number * factor, volume.unit));
  return out;
}

Mistakes wrong_dose(const Json& sound) {
  Mistakes out;
  const Parts dose = parts_of(text_of(sound, "dose"));
  if (text_of(sound, "strength").empty()) return out;
  for (const double factor : {0.5, 1.5, 2.0, 3.0})
    add(out, sound, "dose", joined(dose.number * factor, dose.unit));
  return out;
}

Mistakes digits_exchanged(const Json& sound) {
  Mistakes out;
  for (const char* field : {"dose", "volume", "patient.weight"}) {
    const std::string text = text_of(sound, field);
    const std::size_t end = text.find(' ');
    for (std::size_t i = 0; i + 1 < std::min(end, text.size()); ++i) {
      if (text[i] == '.' || text[i + 1] == '.' || text[i] == text[i + 1]) continue;
      std::string other = text;
      std::swap(other[i], other[i + 1]);
      if (other[0] == '0' && other[1] != '.') continue;
      add(out, sound, field, other);
    }
  }
  return out;
}

constexpr std::array kDates = {"vial.opened",    "vial.expires",    "schedule.last-given",
                               "schedule.start", "patient.weighed", "order.placed"};

std::string moved(const std::string& date, int years) {
  engine::CivilDay day = engine::civil_from_days(engine::parse_date(date)->day());
  day.year += years;
  return engine::format_day(engine::days_from_civil(day));
}

Mistakes wrong_year(const Json& sound) {
  Mistakes out;
  for (const char* field : kDates) {
    const std::string date = text_of(sound, field);
    if (date.empty()) continue;
    add(out, sound, field, moved(date, 1));
    add(out, sound, field, moved(date, -1));
  }
  return out;
}

Mistakes date_digits(const Json& sound) {
  Mistakes out;
  for (const char* field : kDates) {
    const std::string date = text_of(sound, field);
    if (date.size() != 10) continue;
    std::string day_month = date;
    std::swap_ranges(day_month.begin() + 5, day_month.begin() + 7, day_month.begin() + 8);
    std::string turned = date;
    std::swap(turned[8], turned[9]);
    std::string month = date;
    std::swap(month[5], month[6]);
    for (const std::string& other : {day_month, turned, month})
      if (engine::parse_date(other)) add(out, sound, field, other);
  }
  return out;
}

Mistakes other_scale(const Json& sound) {
  Mistakes out;
  for (const char* scale : {"mL", "U-100", "U-500", "U-40"})
    if (text_of(sound, "syringe.scale") != "mL") add(out, sound, "syringe.scale", scale);
  return out;
}

/// The syringe before or behind in the row of usual ones.
Mistakes other_capacity(const Json& sound) {
  static const std::vector<std::string> kCapacities = {"0.3 mL", "0.5 mL", "1 mL",
                                                       "3 mL",   "5 mL",   "10 mL"};
  Mistakes out;
  for (std::size_t i = 0; i < kCapacities.size(); ++i) {
    if (text_of(sound, "syringe.capacity") != kCapacities[i]) continue;
    if (i > 0) add(out, sound, "syringe.capacity", kCapacities[i - 1]);
    if (i + 1 < kCapacities.size()) add(out, sound, "syringe.capacity", kCapacities[i + 1]);
  }
  return out;
}

Mistakes other_vehicle(const Json& sound) {
  Mistakes out;
  for (const char* vehicle : {"sesame-oil", "cottonseed-oil", "castor-oil", "aqueous"})
    add(out, sound, "substance.vehicle", vehicle);
  return out;
}

Mistakes other_salt(const Json& sound) {
  Mistakes out;
  const std::string vehicle = text_of(sound, "substance.vehicle");
  if (vehicle.empty() || !text_of(sound, "substance.name").empty()) return out;
  const std::string code = text_of(sound, "substance.code");
  if (code == "testosterone-cypionate") add(out, sound, "substance.code", "testosterone-enanthate");
  if (code == "testosterone-enanthate") add(out, sound, "substance.code", "testosterone-cypionate");
  if (code == "estradiol-valerate") add(out, sound, "substance.code", "estradiol-cypionate");
  return out;
}

/// A depot's dose or interval is that of another row of its table.
Mistakes other_pair(const Json& sound) {
  Mistakes out;
  if (text_of(sound, "substance.code") != "leuprolide-depot") return out;
  for (const char* every : {"4 wk", "16 wk", "24 wk"})
    add(out, sound, "schedule.every", every);
  return out;
}

Mistakes dates_exchanged(const Json& sound) {
  Mistakes out;
  Json with_end = sound;
  set_text(with_end, "schedule.end", "2026-04-27");
  add(out, with_end, "schedule.end", text_of(sound, "schedule.start"));
  set_text(out.back().order, "schedule.start", "2026-04-27");
  return out;
}

}  // namespace

const std::vector<Defect>& defects() {
  static const auto kAny = [](const Parts&) { return true; };
  static const auto kUnits = [](const Parts& p) { return p.unit == "units" && whole(p.number); };
  static const auto kWhole = [](const Parts& p) { return whole(p.number); };
  static const auto kZero = [](const Parts& p) { return p.number < 0.1; };
  static const std::vector<Defect> kDefects = {
      {"the point one place off",
       [](const Json& o) {
         return multiplied(o, {0.1, 10}, kAny);
       }},
      {"the point two places off",
       [](const Json& o) {
         return multiplied(o, {0.01, 100}, kAny);
       }},
      {"a zero behind the point lost", [](const Json& o) { return multiplied(o, {10}, kZero); }},
      {"a zero at the end read", [](const Json& o) { return multiplied(o, {10}, kWhole); }},
      {"a U read as a zero", [](const Json& o) { return multiplied(o, {10}, kUnits); }},
      {"another unit", other_unit},
      {"another stocked strength", other_strength},
      {"marks for millilitres and the reverse", marks_for_millilitres},
      {"a day for a week and the reverse", day_for_week},
      {"the other side", other_side},
      {"another site", other_site},
      {"draw and injection needle exchanged", needles_exchanged},
      {"the next gauge", next_gauge},
      {"the next length", next_length},
      {"another route", other_route},
      {"a volume reckoned wrong", wrong_volume},
      {"a dose that volume and strength belie", wrong_dose},
      {"two digits exchanged", digits_exchanged},
      {"a year off", wrong_year},
      {"digits of a date exchanged", date_digits},
      {"another scale", other_scale},
      {"another syringe", other_capacity},
      {"another vehicle", other_vehicle},
      {"another salt", other_salt},
      {"a depot's dose and interval no pair", other_pair},
      {"start and end exchanged", dates_exchanged},
  };
  return kDefects;
}

}  // namespace meniscus::rules_tests
