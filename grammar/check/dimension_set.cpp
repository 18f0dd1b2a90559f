// Sets of dimensions: products, quotients, unions, and what to call them.
#include "grammar/check/dimension_set.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "engine/quantity/quantity.hpp"

namespace meniscus::grammar {
namespace {

using engine::Dimension;
namespace dim = engine::dim;

/// More combinations than this are no longer told apart.
constexpr std::size_t kMostDimensions = 64;

constexpr std::array kAmounts = {dim::kMass, dim::kBiological, dim::kVolume,
                                 dim::kAmountOfSubstance};

}  // namespace

void DimensionSet::insert(Dimension dimension) {
  if (any_) return;
  const auto less = [](Dimension a, Dimension b) { return a.bits() < b.bits(); };
  const auto at = std::lower_bound(known_.begin(), known_.end(), dimension, less);
  if (at != known_.end() && *at == dimension) return;
  if (known_.size() == kMostDimensions) {
    *this = any();
    return;
  }
  known_.insert(at, dimension);
}

DimensionSet DimensionSet::any() {
  DimensionSet set;
  set.known_.clear();
  set.any_ = true;
  return set;
}

DimensionSet DimensionSet::amount() {
  DimensionSet set;
  set.known_.clear();
  for (const Dimension each : kAmounts)
    set.insert(each);
  return set;
}

// A volume of medicine in a volume is left out: no order writes it, and it would make every
// strength comparable with a bare number and with a share such as `20 %`, which no order can ever
// answer.
DimensionSet DimensionSet::strength() {
  DimensionSet set;
  set.known_.clear();
  for (const Dimension each : kAmounts) {
    if (each != dim::kVolume) set.insert(each / dim::kVolume);
  }
  return set;
}

DimensionSet DimensionSet::amount_per_body_mass() {
  return amount() / DimensionSet(dim::kBodyMass);
}

bool DimensionSet::contains(Dimension dimension) const {
  return any_ || std::find(known_.begin(), known_.end(), dimension) != known_.end();
}

bool DimensionSet::meets(const DimensionSet& other) const {
  if (any_ || other.any_) return true;
  return std::any_of(known_.begin(), known_.end(),
                     [&](Dimension each) { return other.contains(each); });
}

DimensionSet operator*(const DimensionSet& a, const DimensionSet& b) {
  if (a.any_ || b.any_) return DimensionSet::any();
  DimensionSet result;
  result.known_.clear();
  for (const Dimension x : a.known_) {
    for (const Dimension y : b.known_)
      result.insert(x * y);
  }
  return result;
}

DimensionSet operator/(const DimensionSet& a, const DimensionSet& b) {
  if (a.any_ || b.any_) return DimensionSet::any();
  DimensionSet result;
  result.known_.clear();
  for (const Dimension x : a.known_) {
    for (const Dimension y : b.known_)
      result.insert(x / y);
  }
  return result;
}

DimensionSet DimensionSet::either(const DimensionSet& a, const DimensionSet& b) {
  if (a.any_ || b.any_) return any();
  DimensionSet result = a;
  for (const Dimension each : b.known_)
    result.insert(each);
  return result;
}

DimensionSet DimensionSet::both(const DimensionSet& a, const DimensionSet& b) {
  if (a.any_) return b;
  if (b.any_) return a;
  DimensionSet result;
  result.known_.clear();
  for (const Dimension each : a.known_) {
    if (b.contains(each)) result.insert(each);
  }
  return result;
}

std::string DimensionSet::describe() const {
  if (any_) return "any quantity";
  if (*this == amount()) return "amount of medicine";
  if (*this == strength()) return "strength";
  if (*this == amount_per_body_mass()) return "amount per body mass";
  std::string result;
  constexpr std::size_t kShown = 3;
  for (std::size_t i = 0; i < known_.size() && i < kShown; ++i) {
    if (i > 0) result += " or ";
    result += engine::describe(known_[i]);
  }
  return known_.size() > kShown ? result + " or more" : result;
}

std::string example_of(Dimension dimension) {
  static constexpr std::array<std::pair<Dimension, std::string_view>, 12> kExamples = {{
      {dim::kNumber, "3"},
      {dim::kMass, "5 mg"},
      {dim::kVolume, "5 mL"},
      {dim::kBiological, "5 units"},
      {dim::kTime, "7 days"},
      {dim::kLength, "25 mm"},
      {dim::kBodyMass, "50 kg"},
      {dim::kMassPerVolume, "5 mg/mL"},
      {dim::kBiologicalPerVolume, "5 units/mL"},
      {dim::kViscosity, "5 mPa.s"},
      {dim::kForce, "5 N"},
      {dim::kMass / dim::kBodyMass, "5 mg/kg"},
  }};
  for (const auto& [each, text] : kExamples) {
    if (each == dimension) return std::string(text);
  }
  return {};
}

}  // namespace meniscus::grammar
