// "Did you mean": the nearest of some words.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace meniscus::grammar {

/// Steps (insert, delete, replace, swap of neighbours) from one to the other; gives up above
/// `limit` and returns limit + 1.
std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit);

/// The candidate that is nearest to `word`, or empty when none is within a third of its length.
std::string nearest(std::string_view word, std::span<const std::string_view> candidates);

}  // namespace meniscus::grammar
