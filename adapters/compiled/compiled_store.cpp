// Contract: compiled_store.hpp.
#include "adapters/compiled/compiled_store.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {
namespace {

using engine::Errc;
using engine::Error;

/// An open file that closes itself.
class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() { close(); }

  [[nodiscard]] int number() const { return number_; }
  bool close() {
    const bool good = number_ < 0 || ::close(number_) == 0;
    number_ = -1;
    return good;
  }

 private:
  int number_;
};

/// Reads all of an open file of this size into `bytes`; false where it is otherwise.
bool read_whole(int file, std::string& bytes) {
  std::size_t at = 0;
  while (at < bytes.size()) {
    const ssize_t got = ::read(file, bytes.data() + at, bytes.size() - at);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    at += static_cast<std::size_t>(got);
  }
  return true;
}

enum class Likeness : std::uint8_t { Same, Different, Gone };

/// `buffer` is room that is used again.
Likeness compare_file(const std::string& path, std::string_view expected, std::string& buffer) {
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  struct stat status {};
  if (file.number() < 0 || ::fstat(file.number(), &status) != 0) return Likeness::Gone;
  if (!S_ISREG(status.st_mode) || static_cast<std::size_t>(status.st_size) != expected.size())
    return Likeness::Different;
  buffer.resize(expected.size());
  return read_whole(file.number(), buffer) && buffer == expected ? Likeness::Same
                                                                 : Likeness::Different;
}

std::string why_different(const CompiledSource& source, std::string& buffer) {
  const std::string name(source.name);
  switch (compare_file(name, source.text, buffer)) {
    case Likeness::Same:
      return {};
    case Likeness::Different:
      return name + " has changed";
    case Likeness::Gone:
      return name + " cannot be read";
  }
  return {};
}

std::string why_other_day(const CompiledOrigin& origin, std::int64_t day) {
  if (day >= origin.first_day && day <= origin.last_day) return {};
  return "dates in the rules make them others on " + engine::format_day(day);
}

bool write_whole(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t put = ::write(file, bytes.data(), bytes.size());
    if (put < 0 && errno == EINTR) continue;
    if (put <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(put));
  }
  return true;
}

}  // namespace

std::string compiled_path(const std::vector<std::string>& paths) {
  if (paths.empty()) return {};
  std::filesystem::path folder = paths.front();
  std::error_code problem;
  if (!std::filesystem::is_directory(folder, problem)) folder = folder.parent_path();
  return (folder / kCompiledName).string();
}

std::string why_stale(const CompiledOrigin& origin, const WantedRules& wanted) {
  if (origin.rules.size() != wanted.rules.size()) return "it is of another set of rule files";
  for (std::size_t i = 0; i < wanted.rules.size(); ++i) {
    const WantedRules::File& file = wanted.rules[i];
    if (origin.rules[i].name != file.name || origin.rules[i].shipped != file.shipped)
      return "it is of another set of rule files (" + file.name + ")";
  }
  if (origin.allow_mute_hold != wanted.allow_mute_hold)
    return "--allow-mute-hold was another when it was made";
  if (std::string why = why_other_day(origin, wanted.rules_day); !why.empty()) return why;
  std::string buffer;
  for (const auto* const sources : {&origin.rules, &origin.tables}) {
    for (const CompiledSource& source : *sources) {
      if (std::string why = why_different(source, buffer); !why.empty()) return why;
    }
  }
  return {};
}

engine::Result<std::optional<std::string>> read_compiled(const std::string& path) {
  const auto trouble = [&path](int number) {
    return Error{Errc::Input, "cannot read " + path + ": " + std::strerror(number), 0, 0};
  };
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (file.number() < 0) {
    if (errno == ENOENT || errno == ENOTDIR) return std::optional<std::string>();
    return trouble(errno);
  }
  struct stat status {};
  if (::fstat(file.number(), &status) != 0) return trouble(errno);
  if (!S_ISREG(status.st_mode)) return Error{Errc::Input, path + " is no file", 0, 0};
  std::string bytes(static_cast<std::size_t>(status.st_size), '\0');
  if (!read_whole(file.number(), bytes)) return trouble(EIO);
  return std::optional(std::move(bytes));
}

engine::Status store_compiled(const std::string& path, std::string_view bytes) {
  constexpr mode_t kMode = 0644;
  std::string draft = path + ".XXXXXX";
  Descriptor file(::mkostemp(draft.data(), O_CLOEXEC));
  if (file.number() < 0)
    return Error{Errc::Input, "cannot write " + path + ": " + std::strerror(errno), 0, 0};
  const bool written = write_whole(file.number(), bytes) && ::fchmod(file.number(), kMode) == 0 &&
                       ::fsync(file.number()) == 0;
  if (written && file.close() && ::rename(draft.c_str(), path.c_str()) == 0) return engine::Done{};
  const int number = errno;
  ::unlink(draft.c_str());
  return Error{Errc::Input, "cannot write " + path + ": " + std::strerror(number), 0, 0};
}

}  // namespace meniscus::adapters
