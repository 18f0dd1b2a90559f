// Contract: see plain_reader.hpp.
#include "tests/bench/yardstick/plain_reader.hpp"

#include <simdjson.h>

#include <utility>

#include "tests/bench/yardstick/plain_text.hpp"

namespace meniscus::bench {

namespace {

namespace ondemand = simdjson::ondemand;

constexpr std::size_t kBatch = std::size_t{1} << 20U;
/// "1 wk", "7 days", "1 d" in days.
double interval(std::string_view text) {
  const double value = number_at(text);
  skip(text, ' ');
  if (text == "wk" || text == "week" || text == "weeks") return value * 7;
  return text == "d" || text == "day" || text == "days" ? value : kMissing;
}

/// Of "2026-03-02...".
std::int64_t day(std::string_view text) {
  if (text.size() < 10) return kNoDay;
  return days_from(two_digits(text, 0) * 100 + two_digits(text, 2), two_digits(text, 5),
                   two_digits(text, 8));
}

/// Calls `member(key, value)` for each member of an object.
template <class Member>
void each(ondemand::object object, Member member) {
  for (auto field : object) {
    std::string_view key;
    if (field.unescaped_key().get(key) != simdjson::SUCCESS) return;
    member(key, field.value());
  }
}

template <class Member>
void each_of(simdjson::simdjson_result<ondemand::value> value, Member member) {
  ondemand::object object;
  if (value.get_object().get(object) == simdjson::SUCCESS) each(object, member);
}

using Value = simdjson::simdjson_result<ondemand::value>;

std::string_view text_of(Value value) {
  std::string_view text;
  return value.get_string().get(text) == simdjson::SUCCESS ? text : std::string_view{};
}

void read_patient(PlainOrder& order, std::string_view key, Value value) {
  if (key == "weight") {
    order.weight = plain(text_of(value), "kg");
  } else if (key == "allergies") {
    ondemand::array list;
    if (value.get_array().get(list) != simdjson::SUCCESS) return;
    for (auto item : list) {
      std::string_view text;
      if (item.get_string().get(text) == simdjson::SUCCESS && order.allergy.empty())
        order.allergy = text;
    }
  }
}

void read_schedule(PlainOrder& order, std::string_view key, Value value) {
  if (key == "every") order.every = interval(text_of(value));
  if (key == "start") order.start = day(text_of(value));
  if (key == "last-given") order.last = day(text_of(value));
}

void read_group(PlainOrder& order, std::string_view group, Value value) {
  if (group == "order") {
    each_of(value, [&](std::string_view key, Value v) {
      if (key == "id") order.id = text_of(v);
      if (key == "placed") order.placed = day(text_of(v));
    });
  } else if (group == "patient") {
    each_of(value, [&](std::string_view key, Value v) { read_patient(order, key, v); });
  } else if (group == "substance") {
    each_of(value, [&](std::string_view key, Value v) {
      if (key == "code") order.substance = text_of(v);
      if (key == "vehicle") order.vehicle = text_of(v);
    });
  } else if (group == "syringe") {
    each_of(value, [&](std::string_view key, Value v) {
      if (key == "capacity") order.capacity = plain(text_of(v), "mL");
      if (key == "graduation") order.graduation = plain(text_of(v), "mL");
    });
  } else if (group == "needle") {
    each_of(value, [&](std::string_view key, Value v) {
      if (key == "gauge") order.gauge = plain(text_of(v), "G");
      if (key == "length") order.length = length(text_of(v));
    });
  } else if (group == "schedule") {
    each_of(value, [&](std::string_view key, Value v) { read_schedule(order, key, v); });
  } else if (group == "vial") {
    each_of(value, [&](std::string_view key, Value v) {
      if (key == "kind") order.vial_kind = text_of(v);
      if (key == "opened") order.opened = day(text_of(v));
    });
  }
}

void read_member(PlainOrder& order, std::string_view key, Value value) {
  if (key == "dose") {
    order.dose = plain(text_of(value), "mg");
  } else if (key == "strength") {
    order.strength = plain(text_of(value), "mg/mL");
  } else if (key == "volume") {
    order.volume = plain(text_of(value), "mL");
  } else if (key == "route") {
    order.route = text_of(value);
  } else if (key == "site") {
    order.site = text_of(value);
  } else {
    read_group(order, key, value);
  }
}

}  // namespace

std::size_t read_plain_orders(std::string_view lines,
                              const std::function<void(const PlainOrder&)>& next) {
  ondemand::parser parser;
  ondemand::document_stream stream;
  if (parser.iterate_many(lines.data(), lines.size(), kBatch).get(stream) != simdjson::SUCCESS)
    return 0;
  std::size_t count = 0;
  for (auto document : stream) {
    ondemand::object object;
    if (document.get_object().get(object) != simdjson::SUCCESS) continue;
    PlainOrder order;
    each(object, [&](std::string_view key, Value value) { read_member(order, key, value); });
    next(order);
    ++count;
  }
  return count;
}

}  // namespace meniscus::bench
