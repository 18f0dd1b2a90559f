// The help pages.
#pragma once

#include <string>
#include <string_view>

namespace meniscus::adapters {

/// "" is the program's own page; "check", "rules" and "profile" are those of the commands.
std::string help_page(std::string_view topic);
std::string version_line();

}  // namespace meniscus::adapters
