// Changes that may be what was meant: one field, or two that were exchanged.
//
// Bounded: at most kMostCandidates an order; generators add the common kinds first.
// Once:    the same change is kept once, under its commonest kind.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine::slips {

enum class Kind : std::uint8_t {
#define SLIP(id, rank, why) id,
#include "engine/slips/kinds.def"
#undef SLIP
};
int rank(Kind kind);
std::string_view why(Kind kind);

struct Change {
  FieldId field{};
  Value value;
};

struct Candidate {
  static constexpr std::size_t kMostChanges = 4;

  Kind kind{};
  std::uint8_t count = 0;
  std::uint16_t number = 0;                  // in the order in which they were added
  std::array<Change, kMostChanges> changes;  // the first names the slip
  bool twice = false;                        // two kinds of slip lead to it
  double size = 0;                           // how large the change is; 0 is none
  std::string_view unit;                     // to show the first change in; empty: as written

  [[nodiscard]] FieldId field() const { return changes[0].field; }
  [[nodiscard]] std::span<const Change> all() const { return {changes.data(), count}; }
};

class Candidates {
 public:
  static constexpr std::size_t kMostCandidates = 256;

  void clear() { list_.clear(); }
  [[nodiscard]] bool full() const { return list_.size() == kMostCandidates; }
  [[nodiscard]] std::span<const Candidate> list() const { return list_; }

  void add(Kind kind, FieldId field, const Value& value, double size, std::string_view unit = {});
  void add(const Candidate& candidate);
  /// The common kinds first, else as they were added.
  void sort();

 private:
  std::vector<Candidate> list_;
};

/// The same value for `field`, within the tolerance of numbers.
bool same_value(const Value& a, const Value& b);

}  // namespace meniscus::engine::slips
