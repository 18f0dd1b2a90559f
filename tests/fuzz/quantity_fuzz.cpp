// Fuzz target: everything that reads quantities and dates, with the round trip as a property.
//
// Input:    the first byte picks a style, the rest is text.
// Property: nothing crashes, and what a quantity is shown as reads back as the same quantity.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "engine/order/value.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace {

using namespace meniscus::engine;  // NOLINT(google-build-using-namespace): one target, one file

void check_round_trip(const AnyQuantity& quantity, bool body_mass) {
  const double size = std::fabs(quantity.value);
  if (quantity.dimension.is_number() || size > 1e14 || (size < 1e-14 && size != 0)) return;
  if (quantity.dimension.exponent(Base::BodyMass) > 0 && !body_mass) return;
  const std::string text = format_quantity(quantity, 17);
  QuantityStyle style;
  style.body_mass = body_mass && quantity.dimension == dim::kBodyMass;
  const Result<AnyQuantity> read = parse_quantity(text, style);
  if (!read) {
    // Shown digits may look like thousands to a reader of the other style; nothing else may fail.
    if (read.error().code != Errc::Ambiguous) __builtin_trap();
    return;
  }
  const bool temperature = quantity.dimension == dim::kTemperature;  // an offset eats digits
  if (read->dimension != quantity.dimension) __builtin_trap();
  if (!temperature && compare(read->value, quantity.value) != 0) __builtin_trap();
}

void read_dates(std::string_view text, DateOrder order, bool month_end) {
  for (const Result<Date>& date :
       {parse_date(text, order, month_end), parse_hl7_date(text, month_end)}) {
    if (!date) continue;
    const Result<Date> again = parse_date(format_date(*date), DateOrder::Ymd, month_end);
    if (!again || *again != *date) __builtin_trap();
    if (unpack(static_cast<double>(date->seconds), pack(*date)) != *date) __builtin_trap();
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const unsigned choice = data[0];
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  QuantityStyle style;
  style.mark = (choice & 1U) != 0 ? DecimalMark::Comma : DecimalMark::Point;
  style.units = static_cast<UnitSet>((choice >> 1) % 3);
  style.body_mass = (choice & 8U) != 0;
  if (const auto quantity = parse_quantity(text, style))
    check_round_trip(*quantity, style.body_mass);
  if (const auto strength = parse_strength(text, style)) check_round_trip(*strength, false);
  if (const auto range = parse_range(text, style);
      range && compare(range->low.value, range->high.value) > 0)
    __builtin_trap();
  (void)parse_unit(text, style.units);
  (void)parse_gauge(text);
  (void)parse_number(text, style.mark, true);
  read_dates(text, static_cast<DateOrder>((choice >> 4) % 3), (choice & 128U) != 0);
  if (word_hash(text) == kNoWord) __builtin_trap();
  return 0;
}
