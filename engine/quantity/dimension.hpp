// What a number measures, as exponents of nine base dimensions, known at run time.
//
// Holds:   mass, length, time, body mass, biological units, syringe marks, temperature, amount of
//          substance and equivalents.  Body mass is a dimension of its own, so that `5 mg/kg` is
//          not a bare number; biological units and marks are, so that neither becomes a mass or a
//          volume by accident.  A volume is length cubed.
// Base:    milligram, millimetre, second, milligram of body mass, unit, mark, kelvin, mole,
//          equivalent.  So 1 mL is 1000 and 1 mPa.s is exactly 1.
// Shape:   six bits an exponent, biased, in one 64-bit word: multiplying is one addition and
//          comparing is one comparison, which is what evaluation over columns needs.
#pragma once

#include <cstdint>

namespace meniscus::engine {

enum class Base : std::uint8_t {
  Mass,
  Length,
  Time,
  BodyMass,
  Biological,
  Mark,
  Temperature,
  Amount,
  Equivalent
};
inline constexpr int kBaseCount = 9;

class Dimension {
 public:
  constexpr Dimension() = default;  // a bare number

  static constexpr Dimension of(Base base, int exponent = 1) {
    Dimension d;
    d.bits_ += static_cast<std::uint64_t>(static_cast<std::int64_t>(exponent)) << shift(base);
    return d;
  }
  static constexpr Dimension from_bits(std::uint64_t bits) {
    Dimension d;
    d.bits_ = bits;
    return d;
  }

  [[nodiscard]] constexpr int exponent(Base base) const {
    return static_cast<int>((bits_ >> shift(base)) & 63U) - kBias;
  }
  [[nodiscard]] constexpr std::uint64_t bits() const { return bits_; }
  [[nodiscard]] constexpr bool is_number() const { return bits_ == kZero; }

  friend constexpr Dimension operator*(Dimension a, Dimension b) {
    return from_bits(a.bits_ + b.bits_ - kZero);
  }
  friend constexpr Dimension operator/(Dimension a, Dimension b) {
    return from_bits(a.bits_ - b.bits_ + kZero);
  }
  friend constexpr bool operator==(Dimension, Dimension) = default;

  static constexpr std::uint64_t kZero = [] {
    std::uint64_t bits = 0;
    for (int i = 0; i < kBaseCount; ++i)
      bits |= std::uint64_t{32} << (6 * i);
    return bits;
  }();

 private:
  static constexpr int kBias = 32;
  static constexpr int shift(Base base) { return 6 * static_cast<int>(base); }

  std::uint64_t bits_ = kZero;
};

namespace dim {
inline constexpr Dimension kNumber{};
inline constexpr Dimension kMass = Dimension::of(Base::Mass);
inline constexpr Dimension kLength = Dimension::of(Base::Length);
inline constexpr Dimension kTime = Dimension::of(Base::Time);
inline constexpr Dimension kBodyMass = Dimension::of(Base::BodyMass);
inline constexpr Dimension kBiological = Dimension::of(Base::Biological);
inline constexpr Dimension kMark = Dimension::of(Base::Mark);
inline constexpr Dimension kTemperature = Dimension::of(Base::Temperature);
inline constexpr Dimension kAmountOfSubstance = Dimension::of(Base::Amount);
inline constexpr Dimension kEquivalent = Dimension::of(Base::Equivalent);
inline constexpr Dimension kArea = Dimension::of(Base::Length, 2);
inline constexpr Dimension kVolume = Dimension::of(Base::Length, 3);
inline constexpr Dimension kMassPerVolume = kMass / kVolume;
inline constexpr Dimension kBiologicalPerVolume = kBiological / kVolume;
inline constexpr Dimension kVolumePerMark = kVolume / kMark;
inline constexpr Dimension kViscosity = kMass / kLength / kTime;
inline constexpr Dimension kForce = kMass * kLength / kTime / kTime;
inline constexpr Dimension kPressure = kForce / kArea;
}  // namespace dim

}  // namespace meniscus::engine
