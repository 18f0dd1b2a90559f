// Walking folders (contract: input_files.hpp).
#include "adapters/input/input_files.hpp"

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <optional>
#include <system_error>

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using engine::Errc;
using engine::Error;
using engine::Result;

/// Files go to `files`, folders to `folders`.
void sort_out(const fs::directory_entry& entry, std::vector<std::string>& files,
              std::vector<fs::path>& folders) {
  if (entry.path().filename().native().starts_with('.')) return;
  std::error_code ignored;  // what cannot be looked at counts as a file: opening it says why
  const fs::file_type type = entry.symlink_status(ignored).type();
  const fs::file_type behind = entry.status(ignored).type();
  if (type == fs::file_type::directory) {
    folders.push_back(entry.path());
  } else if (behind == fs::file_type::regular || behind == fs::file_type::not_found ||
             behind == fs::file_type::none || behind == fs::file_type::unknown) {
    files.push_back(entry.path().native());
  }
}

/// Adds the files below `name`.  An error, when there is one.
std::optional<Error> add_folder(const std::string& name, std::vector<std::string>& files) {
  std::vector<std::string> found;
  std::vector<fs::path> folders = {name};
  while (!folders.empty()) {
    const fs::path folder = std::move(folders.back());
    folders.pop_back();
    std::error_code problem;
    fs::directory_iterator at(folder, problem);
    while (!problem && at != fs::directory_iterator()) {
      sort_out(*at, found, folders);
      at.increment(problem);
    }
    if (problem)
      return Error{Errc::Input, "cannot read " + folder.native() + ": " + problem.message()};
  }
  if (found.empty())
    return Error{Errc::Input, "cannot read " + name + ": it is a folder without files"};
  std::sort(found.begin(), found.end());
  std::move(found.begin(), found.end(), std::back_inserter(files));
  return std::nullopt;
}

}  // namespace

Result<std::vector<std::string>> input_files(const std::vector<std::string>& names) {
  std::vector<std::string> files;
  for (const std::string& name : names) {
    std::error_code ignored;
    if (name == "-" || !fs::is_directory(name, ignored)) {
      files.push_back(name);
    } else if (std::optional<Error> error = add_folder(name, files)) {
      return std::move(*error);
    }
  }
  return files;
}

}  // namespace meniscus::adapters
