// How outcomes and grades look to people: a word and a mark, a barrel that fills as it gets graver.
//
// Colour:   none.  A terminal gets bold and dim; the word and the mark say everything without them.
#pragma once

#include <string>
#include <string_view>

#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// Six characters: `[    ]` clear, `[=   ]` note ... `[====]` hold.
std::string_view mark(engine::Outcome outcome);

/// The caution that every report for people carries.
inline constexpr std::string_view kCaution =
    "Decision support only: it does not replace the judgement of licensed staff. Local law, codes "
    "and policy prevail; the rules are to be reviewed and adopted by the site before use. A clear "
    "order is not an approval.";

/// Emphasis for a terminal; empty strings elsewhere.
struct Emphasis {
  std::string_view strong;
  std::string_view faint;
  std::string_view off;
  static Emphasis none() { return {}; }
  static Emphasis terminal() { return {"\x1b[1m", "\x1b[2m", "\x1b[0m"}; }
};

}  // namespace meniscus::adapters
