// What stands behind an option, from text into a value.  An empty text is an option that was not
// given: the value stays.
//
//   const engine::Status read = read_day("--as-of", text, arguments.as_of);
//
// Errors: Usage, one sentence about what to write instead.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

[[nodiscard]] engine::Error usage(std::string sentence);

[[nodiscard]] std::string in_ticks(std::string_view text);

/// Digits alone.
[[nodiscard]] std::optional<std::size_t> whole_number(std::string_view text);

[[nodiscard]] engine::Status read_day(std::string_view option, std::string_view text,
                                      std::optional<std::int64_t>& into);

/// "90%", "90 %" or "90", in percent.  `usual`: as an example.
[[nodiscard]] engine::Status read_share(std::string_view option, std::string_view text,
                                        std::string_view usual, std::optional<double>& into);

/// A whole number from `least` to `most`.
[[nodiscard]] engine::Status read_count(std::string_view option, std::string_view text,
                                        std::size_t least, std::size_t most, std::size_t& into);

/// A number of days, a hundred years at most.
[[nodiscard]] engine::Status read_days(std::string_view option, std::string_view text,
                                       std::optional<std::size_t>& into);

template <class T>
using Words = std::vector<std::pair<std::string_view, T>>;

/// One word of a closed list.
template <class T>
[[nodiscard]] engine::Status read_word(std::string_view option, std::string_view text,
                                       const Words<T>& words, T& into) {
  if (text.empty()) return engine::Done{};
  std::string list;
  for (const auto& [word, value] : words) {
    if (word == text) {
      into = value;
      return engine::Done{};
    }
    list.append(list.empty() ? "" : ", ").append(word);
  }
  return usage(std::string(option) + " cannot be " + in_ticks(text) + "; write one of " + list);
}

}  // namespace meniscus::adapters
