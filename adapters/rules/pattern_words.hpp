// A pattern (a regular expression, as RE2 reads it) in plain words, for readers who have never seen
// one: `[0-9] *mg` is "a digit, then blanks or none, then `mg`".
//
// Knows:   what rules use: letters, classes, groups, alternatives, repetitions, both ends.
// Errors:  empty for a pattern that it cannot put in words.
#pragma once

#include <string>
#include <string_view>

namespace meniscus::adapters {

std::string pattern_words(std::string_view pattern);

}  // namespace meniscus::adapters
