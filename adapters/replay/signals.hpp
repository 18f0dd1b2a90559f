// What in a rule's statistics wants to be looked at: it never fires, it fires often, its rate has
// jumped, dropped or stopped.
//
// Rates:   a month is compared with the other months of the same rule: it stands out where so many
//          of all findings, or so few, would fall into it by chance with less than 0.00135
//          (hypergeometric distribution: Fisher's exact test, one side).  That is the chance beyond
//          the limits of a control chart, three standard deviations on one side (ISO 7870-2,
//          Shewhart control charts), without its normal approximation, which takes one finding of a
//          rare rule for a jump.  Shares are of the orders that the rule concerned.
// Stopped: such a month without any finding.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/replay/tally.hpp"

namespace meniscus::adapters::replay {

enum class SignalKind : std::uint8_t { Never, Often, Jump, Drop, Stopped };
std::string_view name(SignalKind kind);

struct Signal {
  SignalKind kind{};
  std::uint16_t rule = 0;
  std::optional<Month> month;  // Jump, Drop, Stopped
  double share = 0;
  double expected = 0;  // likewise
  Count of = 0;         // orders
  std::string say;      // half a sentence
};

/// Of the rules of the program, in their order; `rules`: how many those are, without the built-in.
/// `often`: a share of the judged orders.
std::vector<Signal> signals_of(const SideTally& side, std::size_t rules,
                               const std::vector<Month>& months, Count judged, double often);

/// "4.2 %": a share for people.
std::string percent(double share);

}  // namespace meniscus::adapters::replay
