// The layout of a rule file: the text in, the same rules in the one layout out.
//
//   const Formatted formatted = format("sites.rule", text);
//   if (formatted.good) write(formatted.text);
//
// Sets:     blanks between words, the indent of every line, blank lines, line ends.
// Keeps:    every word, text in quotes and comment, and the line breaks that the writer chose.
// Layout:   items at the margin, their parts 4 further in, the parts of a clause at 8, a line that
//           goes on with a part at 12 and one that goes on with an item at 4; one blank line around
//           each rule and example, at most one elsewhere; two blanks before the title of a setting
//           and before a comment behind a line.
// Errors:   a file whose writing is wrong is given back as it is, with its diagnostics.  Names and
//           dimensions are not looked at: one file alone cannot be checked for them.
// Never:    changes its own output (formatting twice is formatting once) or what compile() makes of
//           the rules, but for places.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/base/diagnostic.hpp"

namespace meniscus::grammar {

struct Formatted {
  bool good = false;                            // no mistake in the writing
  std::string text;                             // when good; else as it was given
  std::vector<engine::Diagnostic> diagnostics;  // in source order
};

/// `name` is shown in diagnostics.
Formatted format(const std::string& name, std::string_view text);

}  // namespace meniscus::grammar
