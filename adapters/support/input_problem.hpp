// What is wrong in a JSON text that a person wrote (a profile, an answer), and where.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace meniscus::adapters {

struct InputProblem {
  std::string message;       // lower case, what was found and what was needed
  std::string at;            // JSON pointer
  std::uint64_t line = 0;    // from 1; 0: no place
  std::uint64_t column = 0;  // from 1, in characters
};

/// At a byte of `text`.
InputProblem problem_at(std::string_view text, std::size_t offset, std::string message,
                        std::string at);

/// `feed.json:3:14: error: unknown key `decimals`; is `decimal` meant? (/decimals)`.
std::string describe(const InputProblem& problem, const std::string& file);

/// A key as a step of a JSON pointer: `a/b` is `a~1b`.
std::string pointer_step(std::string_view key);

/// "unknown key `decimals`; is `decimal` meant?"
std::string unknown_key(std::string_view key, std::span<const std::string_view> known);

}  // namespace meniscus::adapters
