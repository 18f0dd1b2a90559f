// Contract: see yardstick.hpp.  Sources of the figures: the rules and tables of the same names in
// rules/.
#include "tests/bench/yardstick/yardstick.hpp"

#include <algorithm>
#include <cmath>

#include "tests/bench/yardstick/plain_messages.hpp"
#include "tests/bench/yardstick/plain_order.hpp"
#include "tests/bench/yardstick/plain_reader.hpp"

namespace meniscus::bench {

namespace {

using engine::Grade;

constexpr double kRounding = 1e-9;
constexpr double kInch = 25.4;  // mm

constexpr double kVolumeStop = 0.20;
constexpr double kVolumeAsk = 0.05;
constexpr double kLeastFill = 0.20;
constexpr double kLengthTolerance = 1;          // mm
constexpr double kGlutealNeedle = 1.5 * kInch;  // mm
constexpr double kSubcutaneousUsual = 1;        // mL
constexpr double kSubcutaneousMost = 2;         // mL
constexpr double kAbdomenMost = 3;              // mL
constexpr double kGlutealUsual = 3;             // mL
constexpr double kGlutealMost = 5;              // mL
constexpr double kEarlyShare = 0.20;
constexpr double kLateShare = 1.00;
constexpr std::int64_t kInUseDays = 28;

constexpr std::array<std::string_view, 10> kRules = {
    "dose-volume-agreement", "syringe-fits", "needle-gauge", "needle-length", "product", "interval",
    "site-volume",           "beyond-use",   "route-named",  "allergy"};

struct Product {
  std::string_view code;
  double strength;  // mg/mL
  std::string_view vehicle;
  bool depot;
  std::int64_t in_use = kInUseDays;
};
constexpr std::array<Product, 7> kProducts = {{
    {"testosterone-cypionate", 100, "cottonseed-oil", true},
    {"testosterone-cypionate", 200, "cottonseed-oil", true},
    {"testosterone-enanthate", 200, "sesame-oil", true},
    {"estradiol-valerate", 10, "sesame-oil", true},
    {"estradiol-valerate", 20, "castor-oil", true},
    {"estradiol-valerate", 40, "castor-oil", true},
    {"methotrexate", 25, "aqueous", false, 30},
}};

struct Allergen {
  std::string_view allergy;
  std::string_view vehicle;
};
constexpr std::array<Allergen, 5> kAllergens = {{{"cottonseed", "cottonseed-oil"},
                                                 {"sesame", "sesame-oil"},
                                                 {"castor", "castor-oil"},
                                                 {"peanut", "peanut-oil"},
                                                 {"grapeseed", "grapeseed-oil"}}};

bool more(double a, double b) { return a > b + kRounding * std::fmax(std::fabs(a), std::fabs(b)); }
bool less(double a, double b) { return more(b, a); }

bool subcutaneous(const PlainOrder& o) { return o.route == "subcutaneous"; }
bool intramuscular(const PlainOrder& o) { return o.route == "intramuscular"; }
bool gluteal(const PlainOrder& o) {
  return o.site == "ventrogluteal" || o.site == "dorsogluteal" || o.site == "gluteal";
}
bool oily(const PlainOrder& o) { return o.vehicle.ends_with("oil"); }

const Product* product(const PlainOrder& o) {
  const auto* found = std::find_if(kProducts.begin(), kProducts.end(), [&](const Product& p) {
    return p.code == o.substance && p.strength == o.strength;
  });
  return found == kProducts.end() ? nullptr : found;
}
bool depot(const PlainOrder& o) {
  return std::any_of(kProducts.begin(), kProducts.end(),
                     [&](const Product& p) { return p.code == o.substance && p.depot; });
}

void check_agreement(const PlainOrder& o, YardstickFindings& out) {
  const double expected = o.dose / o.strength;
  const double apart = std::fabs(o.volume - expected) / expected;
  if (more(apart, kVolumeStop)) {
    out.add(kRules[0], Grade::Hold);
  } else if (more(apart, kVolumeAsk)) {
    out.add(kRules[0], Grade::Clarify);
  }
}

void check_syringe(const PlainOrder& o, YardstickFindings& out) {
  const double marks = o.volume / o.graduation;
  if (less(o.volume, o.graduation)) {
    out.add(kRules[1], Grade::Hold);
  } else if (more(o.volume, o.capacity)) {
    out.add(kRules[1], Grade::Clarify);
  } else if (less(o.volume, kLeastFill * o.capacity)) {
    out.add(kRules[1], Grade::Caution);
  } else if (std::fabs(marks - std::round(marks)) > kRounding * marks) {
    out.add(kRules[1], Grade::Note);
  }
}

void check_gauge(const PlainOrder& o, YardstickFindings& out) {
  if (!subcutaneous(o) && !intramuscular(o)) return;
  double thinnest = 25;  // a higher gauge is thinner
  double widest = oily(o) ? 18 : 19;
  if (subcutaneous(o)) {
    thinnest = oily(o) ? 27 : 32;
    widest = 22;
  }
  if (o.gauge > thinnest) {
    out.add(kRules[2], Grade::Clarify);
  } else if (o.gauge < widest) {
    out.add(kRules[2], Grade::Caution);
  }
}

void check_length(const PlainOrder& o, YardstickFindings& out) {
  double least = 4;
  double most = 5.0 / 8 * kInch;
  if (intramuscular(o)) {
    if (!gluteal(o)) return;
    least = 1 * kInch;
    most = 3 * kInch;
  } else if (!subcutaneous(o)) {
    return;
  }
  if (less(o.length, least - kLengthTolerance) || more(o.length, most + kLengthTolerance)) {
    out.add(kRules[3], Grade::Clarify);
  } else if (intramuscular(o) && less(o.length, kGlutealNeedle - kLengthTolerance)) {
    out.add(kRules[3], Grade::Caution);
  }
}

void check_product(const PlainOrder& o, YardstickFindings& out) {
  const Product* known = product(o);
  if (known == nullptr || (!o.vehicle.empty() && known->vehicle != o.vehicle))
    out.add(kRules[4], Grade::Clarify);
}

void check_interval(const PlainOrder& o, YardstickFindings& out) {
  if (std::isnan(o.every) || o.start == kNoDay || o.last == kNoDay) return;
  const double late = static_cast<double>(o.start - o.last) - o.every;
  if (more(-late, kEarlyShare * o.every) || more(late, kLateShare * o.every)) {
    out.add(kRules[5], Grade::Clarify);
  } else if (!less(late, 1)) {
    out.add(kRules[5], Grade::Note);
  }
}

void check_site_volume(const PlainOrder& o, YardstickFindings& out) {
  const bool muscle = intramuscular(o) && gluteal(o);
  if (!muscle && !subcutaneous(o)) return;
  const double under_skin = o.site == "abdomen" ? kAbdomenMost : kSubcutaneousMost;
  if (more(o.volume, muscle ? kGlutealMost : under_skin)) {
    out.add(kRules[6], Grade::Clarify);
  } else if (more(o.volume, muscle ? kGlutealUsual : kSubcutaneousUsual)) {
    out.add(kRules[6], Grade::Caution);
  }
}

void check_vial(const PlainOrder& o, YardstickFindings& out) {
  if (o.opened == kNoDay) {
    if (o.vial_kind == "multi-dose") out.add(kRules[7], Grade::Clarify);
    return;
  }
  const Product* known = product(o);
  const std::int64_t life = known == nullptr ? kInUseDays : known->in_use;
  if (o.start != kNoDay && o.start - o.opened > life) out.add(kRules[7], Grade::Hold);
}

void check_route(const PlainOrder& o, YardstickFindings& out) {
  if (o.route.empty()) {
    out.add(kRules[8], depot(o) ? Grade::Hold : Grade::Clarify);
  } else if (o.route == "intravenous" && (depot(o) || oily(o))) {
    out.add(kRules[8], Grade::Hold);
  }
}

void check_allergy(const PlainOrder& o, YardstickFindings& out) {
  if (o.allergy.empty()) return;
  const bool named = std::any_of(kAllergens.begin(), kAllergens.end(), [&](const Allergen& a) {
    return a.allergy == o.allergy && a.vehicle == o.vehicle;
  });
  if (named) out.add(kRules[9], Grade::Hold);
}

void check(const PlainOrder& order, YardstickFindings& out) {
  check_agreement(order, out);
  check_syringe(order, out);
  check_gauge(order, out);
  check_length(order, out);
  check_product(order, out);
  check_interval(order, out);
  check_site_volume(order, out);
  check_vial(order, out);
  check_route(order, out);
  check_allergy(order, out);
}

}  // namespace

std::span<const std::string_view> yardstick_rules() { return kRules; }

namespace {

std::size_t run(std::size_t (*read)(std::string_view,
                                    const std::function<void(const PlainOrder&)>&),
                std::string_view text, const YardstickReport& report) {
  YardstickFindings findings;
  return read(text, [&](const PlainOrder& order) {
    findings.clear();
    check(order, findings);
    report(order.id, findings);
  });
}

}  // namespace

std::size_t run_yardstick(std::string_view orders, const YardstickReport& report) {
  return run(read_plain_orders, orders, report);
}

std::size_t run_message_yardstick(std::string_view messages, const YardstickReport& report) {
  return run(read_plain_messages, messages, report);
}

}  // namespace meniscus::bench
