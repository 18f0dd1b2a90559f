// How often, from when, until when.
//
// A code (BID, Q6H ...) says the whole timing, so that a repeat beside it must say the same; only
// the bounds are its own.  Ranges, days of the week that do not fit the frequency, and times that
// stand for no period are in doubt.
// Not read: count (but for a single dose), duration, offset, boundsDuration and boundsRange; the
//          page of the format lists them.
// Source:  FHIR R4, datatype Timing.
#include <array>
#include <charconv>
#include <optional>

#include "adapters/fhir/order_fields.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;

/// A timing in our words, and where it stands.
struct Reading {
  std::string every;  // `1 wk`; empty: not said
  int times = 1;
  bool once = false;
  bool as_needed = false;
  std::string doubt;
  Element where;

  [[nodiscard]] bool says_nothing() const { return every.empty() && !once && doubt.empty(); }
};

int count_of(Element list) {
  int count = 0;
  each(list, [&](Element) { ++count; });
  return count;
}

/// A small whole number; none where it is no such.
std::optional<int> whole(Element value) {
  const std::string_view token = value.token();
  int number = 0;
  const auto read = std::from_chars(token.data(), token.data() + token.size(), number);
  const bool all = read.ec == std::errc{} && read.ptr == token.data() + token.size();
  if (!value.is(JsonKind::Number) || !all || number < 1) return std::nullopt;
  return number;
}

/// Days of the week: with a period of a day they are the days it holds on; with a week, its doses.
void read_weekdays(Element repeat, Reading& reading) {
  const int days = count_of(repeat["dayOfWeek"]);
  if (days == 0 || !reading.doubt.empty()) return;
  const bool frequency = repeat["frequency"].exists();
  if (reading.every.empty() || reading.every == "1 d") {
    reading.every = "1 wk";
    reading.times *= days;
  } else if (reading.every == "1 wk" && (!frequency || reading.times == days)) {
    reading.times = days;
  } else {
    reading.doubt = "the days of the week do not fit the frequency";
  }
  reading.where = repeat["dayOfWeek"];
}

/// Times of the day: with a period of a day they are its doses.
void read_day_times(Element repeat, Reading& reading) {
  const int times = count_of(repeat["timeOfDay"]);
  if (times == 0 || !reading.doubt.empty()) return;
  if (reading.every.empty()) {
    reading.doubt = "times of the day without a period";
  } else if (!repeat["frequency"].exists() && reading.every == "1 d") {
    reading.times = times;
  } else if (reading.every == "1 d" && reading.times != times) {
    reading.doubt = "the times of the day are more or fewer than the frequency says";
  }
  if (!reading.doubt.empty()) reading.where = repeat["timeOfDay"];
}

void read_period(Element repeat, Reading& reading) {
  const Element period = repeat["period"];
  const Element unit = repeat["periodUnit"];
  for (const std::string_view key : {"periodMax", "frequencyMax"}) {
    if (!repeat[key].exists()) continue;
    reading.doubt = "the interval is a range";
    reading.where = repeat[key];
  }
  if (const Element frequency = repeat["frequency"]; frequency.exists()) {
    const auto times = whole(frequency);
    reading.times = times.value_or(1);
    if (!times || !period.exists()) {
      reading.doubt = times ? "a frequency without a period" : "the frequency is no whole number";
      reading.where = frequency;
    }
  }
  if (!period.exists()) return;
  reading.where = period;
  if (!reading.doubt.empty()) return;
  if (!period.is(JsonKind::Number) || period_unit(unit.text()).empty()) {
    reading.doubt = unit.exists() ? quoted(unit.text()) + " is no unit of a period of FHIR"
                                  : "the period has no unit";
    return;
  }
  reading.every = std::string(period.token()) + " " + std::string(unit.text());
}

Reading of_repeat(Element repeat) {
  Reading reading;
  reading.where = repeat;
  const Element count = repeat["count"];
  if (count.token() == "1" && !repeat["countMax"].exists()) {
    reading.once = true;
    reading.where = count;
    return reading;
  }
  read_period(repeat, reading);
  read_weekdays(repeat, reading);
  read_day_times(repeat, reading);
  if (reading.says_nothing() && repeat["when"].exists()) {
    reading.doubt = "an event of the day without a period";
    reading.where = repeat["when"];
  }
  return reading;
}

Reading of_code(Element code) {
  Reading reading;
  for (const Element word : Lane::words_of(code)) {
    const hl7v2::Pattern pattern = hl7v2::repeat_pattern(repeat_code(word.text()));
    if (pattern.says_nothing()) continue;
    reading.every = pattern.every;
    reading.times = pattern.times;
    reading.once = pattern.once;
    reading.as_needed = pattern.as_needed;
    reading.where = word;
    return reading;
  }
  return reading;
}

double seconds_of(const Reading& reading) {
  const auto every = engine::parse_quantity(reading.every);
  return every ? every->value / reading.times : 0;
}

bool differ(const Reading& a, const Reading& b) {
  if (a.says_nothing() || b.says_nothing()) return false;
  return a.once != b.once || engine::compare(seconds_of(a), seconds_of(b)) != 0;
}

/// Dates one by one: one is a single dose; of several only the first is read.
void read_events(const Lane& lane, Element events, Reading& reading) {
  const int count = count_of(events);
  if (count == 0) return;
  const Element first = events.is(JsonKind::List) ? events.first() : events;
  lane.set(FieldId::ScheduleStart, first);
  if (!reading.says_nothing()) return;
  reading.where = first;
  if (count == 1)
    reading.once = true;
  else
    reading.doubt = "its dates are listed one by one";
}

void set_reading(const Lane& lane, const Reading& reading) {
  if (!reading.doubt.empty()) {
    lane.doubt(FieldId::ScheduleEvery, reading.doubt, reading.where);
    return;
  }
  if (reading.as_needed) lane.set_as(FieldId::ScheduleAsNeeded, "yes", reading.where);
  if (reading.once) {
    lane.set_none(FieldId::ScheduleEvery, reading.where);
    return;
  }
  if (reading.every.empty()) return;
  engine::set_field(lane.numbers, lane.block, lane.lane, FieldId::ScheduleEvery,
                    lane.block.keep(reading.every), reading.where.origin());
  if (reading.times > 1)
    lane.set_as(FieldId::ScheduleTimes, std::to_string(reading.times), reading.where);
}

Reading reading_of(Element timing) {
  Reading coded = of_code(timing["code"]);
  Reading repeated = of_repeat(timing["repeat"]);
  if (coded.says_nothing()) {
    repeated.as_needed = repeated.as_needed || coded.as_needed;
    return repeated;
  }
  if (!repeated.doubt.empty()) return repeated;
  if (differ(coded, repeated)) coded.doubt = "the code of the timing and its repeat differ";
  return coded;
}

}  // namespace

void read_timing(const Lane& lane, Element timing) {
  if (!timing.exists()) return;
  Reading reading = reading_of(timing);
  const Element bounds = timing["repeat"]["boundsPeriod"];
  read_events(lane, timing["event"], reading);
  if (bounds["start"].exists()) lane.set(FieldId::ScheduleStart, bounds["start"]);
  lane.set(FieldId::ScheduleEnd, bounds["end"]);
  lane.set(FieldId::ScheduleText, timing["code"]["text"]);
  set_reading(lane, reading);
}

void compare_timing(const Lane& lane, Element asked_timing, Element timing) {
  const Reading asked = reading_of(asked_timing);
  const Reading said = reading_of(timing);
  if (!asked.doubt.empty() || !said.doubt.empty() || !differ(asked, said)) return;
  if (asked.once != said.once) {
    lane.doubt(FieldId::ScheduleEvery,
               asked.once ? "the prescription says one dose, the dispense a repeated one"
                          : "the prescription says a repeated dose, the dispense a single one",
               said.where);
    return;
  }
  // Beside the interval of the dispense, of which it takes the doses, so that the two compare.
  const double seconds = seconds_of(asked) * said.times;
  lane.block.set(lane.lane, FieldId::StatedEvery,
                 engine::Value::quantity(seconds, engine::dim::kTime), lane.block.keep(asked.every),
                 asked.where.origin());
}

std::string interval_of(Element timing) {
  const Reading reading = reading_of(timing);
  if (!reading.doubt.empty() || reading.every.empty()) return {};
  if (reading.times == 1) return reading.every;
  return engine::format_quantity_in({seconds_of(reading), engine::dim::kTime}, "h", 15);
}

}  // namespace meniscus::adapters::fhir
