// What is said of a line of what was not assessed: that something is missing.
#pragma once

#include <string_view>

namespace meniscus::engine {

/// What follows `missing` (of a NotAssessed) in a sentence: ` missing` after `volume` or
/// `earlier dose`, nothing after what says itself what lacks (`depot-intervals: no row for X`,
/// `dose, volume (unlike kinds)`).
constexpr std::string_view lack_word(std::string_view missing) {
  const bool says_itself = missing.find(": ") != std::string_view::npos || missing.ends_with(')');
  return says_itself ? "" : " missing";
}

}  // namespace meniscus::engine
