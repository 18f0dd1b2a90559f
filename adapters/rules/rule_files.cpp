// Contract: see rule_files.hpp.
#include "adapters/rules/rule_files.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <set>
#include <system_error>
#include <utility>

namespace meniscus::adapters {

namespace {
namespace fs = std::filesystem;
using engine::Errc;
using engine::Error;
using engine::Result;

Error unreadable(const std::string& path, const std::string& why) {
  return {Errc::Input, "cannot read " + path + ": " + why, 0, 0};
}

constexpr std::string_view kRuleEnd = ".rule";
constexpr std::string_view kCasesEnd = ".cases.csv";

/// The regular files below a folder whose names end so, sorted.
std::vector<std::string> files_below(const std::string& folder, std::string_view end,
                                     std::error_code& problem) {
  std::vector<std::string> files;
  fs::recursive_directory_iterator entry(folder, problem);
  for (; !problem && entry != fs::recursive_directory_iterator(); entry.increment(problem)) {
    std::error_code ignored;
    std::string name = entry->path().string();
    if (name.ends_with(end) && entry->is_regular_file(ignored)) files.push_back(std::move(name));
  }
  std::sort(files.begin(), files.end());
  return files;
}
}  // namespace

Result<std::vector<std::string>> rule_files_at(const std::string& path) {
  std::error_code problem;
  const fs::file_status status = fs::status(path, problem);
  if (!fs::exists(status)) return unreadable(path, "there is no such file or folder");
  if (!fs::is_directory(status)) {
    return is_case_file(path) ? std::vector<std::string>{} : std::vector<std::string>{path};
  }
  std::vector<std::string> files = files_below(path, kRuleEnd, problem);
  if (problem) return unreadable(path, problem.message());
  if (files.empty()) return unreadable(path, "there is no *.rule file in it");
  return files;
}

std::set<std::string> rule_files_of(const std::vector<std::string>& paths) {
  std::set<std::string> all;
  for (const std::string& path : paths) {
    const auto files = rule_files_at(path);
    if (files) all.insert(files->begin(), files->end());
  }
  return all;
}

bool is_case_file(std::string_view path) { return path.ends_with(kCasesEnd); }

std::vector<std::string> case_files_at(const std::string& path) {
  std::error_code problem;
  if (fs::is_directory(path, problem)) return files_below(path, kCasesEnd, problem);
  std::string table = path;
  if (!is_case_file(table)) {
    if (!table.ends_with(kRuleEnd)) return {};
    table.replace(table.size() - kRuleEnd.size(), kRuleEnd.size(), kCasesEnd);
    if (!fs::is_regular_file(table, problem)) return {};
  }
  return {table};
}

Result<std::string> read_file(const std::string& path) {
  std::error_code problem;
  if (fs::is_directory(path, problem)) return unreadable(path, "it is a folder");
  errno = 0;
  std::ifstream in(path, std::ios::binary);
  if (!in) return unreadable(path, std::strerror(errno));
  std::string text;
  const std::uintmax_t size = fs::file_size(path, problem);
  if (!problem) text.reserve(static_cast<std::size_t>(size));
  constexpr std::size_t kPiece = std::size_t{64} << 10U;
  std::string piece(kPiece, '\0');
  while (in.read(piece.data(), static_cast<std::streamsize>(piece.size())) || in.gcount() > 0) {
    text.append(piece, 0, static_cast<std::size_t>(in.gcount()));
  }
  if (in.bad()) return unreadable(path, std::strerror(errno));
  return text;
}

Shipped find_shipped_rules(const fs::path& program, const char* environment) {
  Shipped shipped;
  if (environment != nullptr && *environment != '\0') {
    shipped.path = environment;
    return shipped;
  }
  const fs::path folder = program.parent_path();
  const fs::path below = fs::path("share") / "meniscus" / "rules";
  for (const fs::path& candidate : {folder.parent_path() / below, folder / below}) {
    std::error_code problem;
    if (fs::is_directory(candidate, problem)) {
      shipped.path = candidate.string();
      return shipped;
    }
    shipped.looked_in.push_back(candidate.string());
  }
  return shipped;
}

}  // namespace meniscus::adapters
