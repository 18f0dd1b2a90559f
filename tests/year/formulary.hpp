// What the clinic "Slatemoor" prescribes: medicines by labelled strength with the doses, intervals,
// containers and devices that a nurse of the trade would expect with them.
//
// Source:  strengths, vehicles, routes, dose limits and lives in use are rows of
// rules/products.csv,
//          product-routes.csv, substances.csv and depot-intervals.csv, which name their sources.
//          Needles follow rules/needle-gauges.csv and needle-lengths.csv.  The choice among them
//          (which doses, how many on one order) is common practice.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

namespace meniscus::year {

enum class Container : std::uint8_t { MultiDose, SingleDose, Ampoule, Prefilled, Pen, Powder };
/// What the dose is drawn and given with.
enum class Device : std::uint8_t {
  Syringe,         // millilitre marks, a needle to draw and one to inject
  InsulinSyringe,  // marks of a scale, a fixed needle
  MarksSyringe,    // the same for another medicine: the order counts marks too
  Ready            // prefilled or a pen
};
enum class Sites : std::uint8_t { Skin, Thigh, Gluteal, GlutealOrThigh, Arm };
enum class Sex : std::uint8_t { Any, Female, Male };

/// One way in which one medicine is given.
struct Regimen {
  std::string_view code;  // of rules/substances.csv
  std::string_view name;  // as people write it, without the strength
  std::string_view unit;  // of the dose
  double strength;        // units of the dose a millilitre
  std::string_view strength_text;
  std::string_view vehicle;
  bool oil;
  std::string_view route;
  std::array<double, 6> doses;  // from small to large; 0 ends
  std::string_view every;       // empty: one dose only
  double every_days;
  int times;           // doses in each `every`
  int doses_an_order;  //
  std::string_view words;
  Container container;
  double vial_ml;  // 0: as much as the dose
  int in_use_days;
  Device device;
  Sites sites;
  int gauge;
  int draw_gauge;  // 0: none
  std::string_view indication;
  Sex sex;
  int age_from;
  int age_to;
  int home_percent;       // how many patients inject themselves
  double per_kilogram;    // 0: not dosed by weight
  double step;            // what a dose by weight is rounded to
  double diluent_ml = 0;  // of a powder; 0: as much as the vial then holds

  [[nodiscard]] int dose_count() const;
  [[nodiscard]] bool recurs() const { return every_days > 0; }
  /// Days from one dose to the next.
  [[nodiscard]] double apart() const { return every_days / times; }
};

std::span<const Regimen> formulary();

/// What patients come for: one of `first`, and for some also one of `more`.  Indices of
/// formulary(), ended by -1.
struct Need {
  int weight;  // how common, against the others
  std::array<int, 5> first;
  std::array<int, 5> more;
};
std::span<const Need> needs();

}  // namespace meniscus::year
