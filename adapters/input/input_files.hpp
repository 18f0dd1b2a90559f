// The files that names on a command line stand for.
#pragma once

#include <string>
#include <vector>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// Names in their order.  A name that is no folder stays as it is, whether there is such a file or
/// not; "-" too.  A folder becomes the regular files below it, at any depth, sorted by path as
/// bytes.  Hidden files and folders (`.name`) are left out, links to folders are not followed
/// unless they are named themselves, and a link to nothing stays, so that opening it says so.
/// Errors: Input, for a folder that cannot be read or has no such file; it is named.
engine::Result<std::vector<std::string>> input_files(const std::vector<std::string>& names);

}  // namespace meniscus::adapters
