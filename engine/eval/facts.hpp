// The day that an order is judged as of, and what else evaluation is told beside its fields.
#pragma once

#include <cstdint>
#include <optional>

#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

/// Whose day counts: `as_of` overrides every order's own date, `host` is for orders without one.
struct Days {
  std::optional<std::int64_t> as_of;  // days since 1970-01-01
  std::int64_t host = 0;

  friend bool operator==(const Days&, const Days&) = default;
};

/// Facts of a lane, without the patient's records.
OrderFacts facts_of(const OrderBlock& block, unsigned lane, const Days& days);

}  // namespace meniscus::engine
