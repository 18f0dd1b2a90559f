// Contract: see order_maker.hpp.
#include "tests/bench/order_maker.hpp"

#include <cstdio>
#include <string_view>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::bench {

namespace {

constexpr std::uint64_t kSoundOfEach = 8;

/// A product of the shipped tables that is given by one route.
struct Product {
  std::string_view code;
  double strength;  // mg/mL
  std::string_view vehicle;
  std::string_view allergy;  // a word that forbids the vehicle; empty: none does
};
constexpr std::array<Product, 5> kProducts = {{
    {"testosterone-cypionate", 200, "cottonseed-oil", "cottonseed"},
    {"testosterone-cypionate", 100, "cottonseed-oil", "cottonseed"},
    {"testosterone-enanthate", 200, "sesame-oil", "sesame"},
    {"estradiol-valerate", 20, "castor-oil", "castor"},
    {"methotrexate", 25, "aqueous", ""},
}};

/// What an order says; what is empty is left out.
struct Draft {
  Product product{};
  double volume = 0.25;  // mL
  double dose = 50;      // mg
  double stated_strength = 200;
  std::string route = "subcutaneous";
  std::string site = "abdomen";
  std::string capacity = "1 mL";
  std::string graduation = "0.01 mL";
  std::string gauge = "25 G";
  std::string length = "5/8 in";
  std::string allergies;
  std::int64_t start = 0;
  std::int64_t last = 0;
  std::int64_t opened = 0;
};

void intramuscular(Draft& draft) {
  draft.route = "intramuscular";
  draft.site = "ventrogluteal";
  draft.gauge = "22 G";
  draft.length = "1 1/2 in";
}

/// Volume as given, dose to match.
void set_volume(Draft& draft, double volume) {
  draft.volume = volume;
  draft.dose = volume * draft.product.strength;
}

void three_millilitres(Draft& draft) {
  draft.capacity = "3 mL";
  draft.graduation = "0.1 mL";
}

void spoil(Draft& draft, Fault fault) {
  switch (fault) {
    case Fault::None:
      return;
    case Fault::VolumeFarOff:
      draft.volume *= 2;
      return;
    case Fault::VolumeOff:
      draft.volume *= 1.1;
      return;
    case Fault::VolumeTooLarge:
      set_volume(draft, 1.2);
      return;
    case Fault::VolumeTooSmall:
      three_millilitres(draft);
      set_volume(draft, 0.05);
      return;
    case Fault::BetweenMarks:
      set_volume(draft, 0.255);
      return;
    case Fault::NeedleThin:
      draft.product = kProducts[3];
      set_volume(draft, 0.25);
      draft.gauge = "30 G";
      return;
    case Fault::NeedleShort:
      intramuscular(draft);
      draft.length = "5/8 in";
      return;
    case Fault::NeedleLong:
      draft.length = "1 1/2 in";
      return;
    case Fault::StrengthUnknown:
      draft.stated_strength = 75;
      draft.dose = draft.volume * 75;
      return;
    case Fault::TooEarly:
      draft.last = draft.start - 3;
      return;
    case Fault::TooLate:
      draft.last = draft.start - 60;
      return;
    case Fault::TooMuchAtOneSite:
      three_millilitres(draft);
      set_volume(draft, 2.5);
      return;
    case Fault::VialOld:
      draft.opened = draft.start - 40;
      return;
    case Fault::RouteMissing:
      draft.route.clear();
      return;
    case Fault::Allergy:
      draft.product = kProducts[0];
      set_volume(draft, draft.volume);
      draft.allergies = "\"cottonseed\"";
      return;
  }
}

std::string number(double value) { return engine::format_number(value); }

std::string text(const Draft& draft, std::uint64_t id, unsigned patient, std::string_view side) {
  std::array<char, 64> head{};
  std::snprintf(head.data(), head.size(), "{\"order\":{\"id\":\"A-%07llu\",\"placed\":\"",
                static_cast<unsigned long long>(id));
  std::array<char, 64> person{};
  std::snprintf(person.data(), person.size(), "\"},\"patient\":{\"id\":\"SM-%04u\"", patient);
  std::string out = head.data();
  out += engine::format_day(draft.start) + person.data();
  out += ",\"born\":\"1988-04-02\",\"weight\":\"71 kg\",\"allergies\":[" + draft.allergies + "]}";
  out += ",\"substance\":{\"code\":\"" + std::string(draft.product.code) + "\",\"vehicle\":\"";
  out += std::string(draft.product.vehicle) + "\"},\"dose\":\"" + number(draft.dose) + " mg\"";
  out += ",\"strength\":\"" + number(draft.stated_strength) + " mg/mL\",\"volume\":\"";
  out += number(draft.volume) + " mL\"";
  if (!draft.route.empty()) out += ",\"route\":\"" + draft.route + '"';
  out += ",\"site\":\"" + draft.site + "\",\"side\":\"" + std::string(side) + '"';
  out += ",\"syringe\":{\"capacity\":\"" + draft.capacity + "\",\"graduation\":\"";
  out += draft.graduation + "\"},\"needle\":{\"gauge\":\"" + draft.gauge + "\",\"length\":\"";
  out += draft.length + "\"}";
  // Oil is drawn up through a wide needle.
  if (draft.product.vehicle.ends_with("oil")) out += ",\"draw-needle\":{\"gauge\":\"19 G\"}";
  out += ",\"schedule\":{\"every\":\"1 wk\",\"start\":\"";
  out += engine::format_day(draft.start) + "\",\"last-given\":\"" + engine::format_day(draft.last);
  out += "\"},\"vial\":{\"kind\":\"multi-dose\",\"opened\":\"" + engine::format_day(draft.opened);
  out += "\"}}\n";
  return out;
}

std::string hl7_day(std::int64_t day) {
  std::string text = engine::format_day(day);
  std::erase(text, '-');
  return text;
}

/// Joins fields, and ends the segment.
template <class... Fields>
void append_segment(std::string& out, std::string_view name, const Fields&... fields) {
  out += name;
  ((out += '|', out += fields), ...);
  out += '\r';
}

void append_segments(std::string& out, const Draft& draft, std::uint64_t id, unsigned patient,
                     std::string_view side) {
  std::array<char, 32> order{};
  std::snprintf(order.data(), order.size(), "A-%07llu", static_cast<unsigned long long>(id));
  std::array<char, 32> person{};
  std::snprintf(person.data(), person.size(), "SM-%04u", patient);
  const std::string day = hl7_day(draft.start);
  std::string allergy = draft.allergies.empty() ? R"("")" : draft.allergies;
  if (!draft.allergies.empty()) std::erase(allergy, '"');
  const std::string_view route = draft.route == "subcutaneous"    ? "SC"
                                 : draft.route == "intramuscular" ? "IM"
                                                                  : "";
  append_segment(out, "MSH", "^~\\&", "ORDERS", "SLATEMOOR", "PHARMACY", "SLATEMOOR", day, "",
                 "RDE^O11^RDE_O11", order.data(), "P", "2.5.1");
  append_segment(out, "PID", "1", "", std::string(person.data()) + "^^^SLATEMOOR^MR", "", "", "",
                 "19880402", "F");
  append_segment(out, "AL1", "1", "DA", allergy);
  append_segment(out, "ORC", "NW", std::string(order.data()) + "^SLATEMOOR", "", "", "", "", "", "",
                 day);
  append_segment(out, "RXE", "", draft.product.code, number(draft.dose), "", "mg", "", "", "", "",
                 "", "", "", "", "", "", "", "", "", "", "", "", "", "", "",
                 number(draft.stated_strength), "mg", "", "", "", "", "", "", "1", "mL");
  append_segment(out, "TQ1", "1", "", "Q1W", "", "", "", day);
  if (!route.empty()) append_segment(out, "RXR", route);
  append_segment(out, "OBX", "1", "NM", "29463-7^Body weight^LN", "", "71", "kg");
  append_segment(out, "ZIN", draft.product.vehicle, number(draft.volume) + " mL", draft.site, side,
                 draft.capacity, draft.graduation, draft.gauge, draft.length,
                 draft.product.vehicle.ends_with("oil") ? "19 G" : "", hl7_day(draft.last),
                 "multi-dose", hl7_day(draft.opened));
}

}  // namespace

std::uint64_t OrderMaker::next() {
  // splitmix64 (Steele, Lea, Flood 2014).
  state_ += 0x9E3779B97F4A7C15ULL;
  std::uint64_t z = state_;
  z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
  return z ^ (z >> 31U);
}

struct OrderMaker::Made {
  Draft draft;
  Fault fault = Fault::None;
  std::uint64_t id = 0;
  unsigned patient = 0;
  std::string_view side;
};

OrderMaker::Made OrderMaker::make() {
  Made made;
  made.id = ++count_;
  if (made.id % kSoundOfEach == 0)
    made.fault = static_cast<Fault>(1 + made.id / kSoundOfEach % (kFaultCount - 1));
  Draft& draft = made.draft;
  draft.product = kProducts[below(kProducts.size())];
  if (below(3) == 0) intramuscular(draft);
  set_volume(draft, 0.2 + 0.05 * below(7));
  draft.start = engine::days_from_civil({2026, 3, 2}) + below(28);
  draft.last = draft.start - 7;
  draft.opened = draft.start - 1 - below(20);
  spoil(draft, made.fault);
  if (made.fault != Fault::StrengthUnknown) draft.stated_strength = draft.product.strength;
  // Patients follow one another, so that a rule on history finds nobody twice within a few weeks.
  made.patient = static_cast<unsigned>(made.id % 10000);
  made.side = below(2) == 0 ? "left" : "right";
  return made;
}

Fault OrderMaker::append(std::string& out) {
  const Made made = make();
  out += text(made.draft, made.id, made.patient, made.side);
  return made.fault;
}

Fault OrderMaker::append_message(std::string& out) {
  const Made made = make();
  append_segments(out, made.draft, made.id, made.patient, made.side);
  return made.fault;
}

std::string make_orders(std::size_t count, std::uint64_t seed) {
  OrderMaker maker(seed);
  std::string out;
  out.reserve(count * 520);
  for (std::size_t i = 0; i < count; ++i)
    maker.append(out);
  return out;
}

std::string make_messages(std::size_t count, std::uint64_t seed) {
  OrderMaker maker(seed);
  std::string out;
  out.reserve(count * 520);
  for (std::size_t i = 0; i < count; ++i)
    maker.append_message(out);
  return out;
}

std::string message_profile() {
  constexpr std::array<std::string_view, 12> kFields = {"substance.vehicle",
                                                        "volume",
                                                        "site",
                                                        "side",
                                                        "syringe.capacity",
                                                        "syringe.graduation",
                                                        "needle.gauge",
                                                        "needle.length",
                                                        "draw-needle.gauge",
                                                        "schedule.last-given",
                                                        "vial.kind",
                                                        "vial.opened"};
  std::string out = "{\"name\":\"Slatemoor, made messages\",\"hl7\":[";
  for (std::size_t i = 0; i < kFields.size(); ++i) {
    out += i == 0 ? "" : ",";
    out += R"({"field":")" + std::string(kFields[i]) + R"(","segment":"ZIN","field-number":)" +
           std::to_string(i + 1) + "}";
  }
  return out + "]}\n";
}

}  // namespace meniscus::bench
