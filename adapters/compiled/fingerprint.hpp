// What this build's programs look like, in one number: the SHA-256 of all sources of engine/ and
// grammar/ and of this folder, and of the version.  Two builds that differ in any of them refuse
// one another's compiled rules.  Made by fingerprint.cmake.
#pragma once

#include <string_view>

namespace meniscus::adapters {

/// 64 hexadecimal digits.
std::string_view build_fingerprint();

}  // namespace meniscus::adapters
