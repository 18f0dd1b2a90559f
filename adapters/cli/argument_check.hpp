// What the words of a command line need of one another: the files and names of its command, options
// that fit only together.
#pragma once

#include <string>

#include "adapters/cli/arguments.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// `path`: the command as it is written, "meniscus rules show".  `says_window`: --resend-window was
/// given.  Errors: Usage, one sentence about what to write instead.
[[nodiscard]] engine::Status check_together(const Arguments& arguments, const std::string& path,
                                            bool says_window);

}  // namespace meniscus::adapters
