// The dimensions that an expression may have, as far as they are known when a rule is compiled.
//
// Most expressions have exactly one.  A dose may be a mass, biological units, a volume or an amount
// of substance, and a strength one of these per volume: which one is known only from the order.
// An operation is wrong only when no combination fits.
#pragma once

#include <string>
#include <vector>

#include "engine/quantity/dimension.hpp"

namespace meniscus::grammar {

class DimensionSet {
 public:
  /// A bare number.
  DimensionSet() : known_{engine::Dimension{}} {}
  DimensionSet(engine::Dimension only)  // NOLINT(google-explicit-constructor): a set of one
      : known_{only} {}

  static DimensionSet any();
  static DimensionSet amount();
  static DimensionSet strength();
  static DimensionSet amount_per_body_mass();

  [[nodiscard]] bool is_any() const { return any_; }
  [[nodiscard]] bool is_single() const { return !any_ && known_.size() == 1; }
  /// Precondition: not is_any().
  [[nodiscard]] engine::Dimension front() const { return known_.front(); }
  [[nodiscard]] bool contains(engine::Dimension dimension) const;
  [[nodiscard]] bool may_be_number() const { return contains(engine::dim::kNumber); }
  /// Some dimension is in both.
  [[nodiscard]] bool meets(const DimensionSet& other) const;
  /// "volume", "amount of medicine", "strength", "mass or volume" ...
  [[nodiscard]] std::string describe() const;

  friend DimensionSet operator*(const DimensionSet& a, const DimensionSet& b);
  friend DimensionSet operator/(const DimensionSet& a, const DimensionSet& b);
  static DimensionSet either(const DimensionSet& a, const DimensionSet& b);
  /// Precondition: a.meets(b).
  static DimensionSet both(const DimensionSet& a, const DimensionSet& b);
  friend bool operator==(const DimensionSet&, const DimensionSet&) = default;

 private:
  void insert(engine::Dimension dimension);

  bool any_ = false;
  std::vector<engine::Dimension> known_;  // sorted by bits, each once
};

/// An example that a rule writer can type: "5 mL" for a volume; empty for an unusual dimension.
std::string example_of(engine::Dimension dimension);

}  // namespace meniscus::grammar
