// Contract: see part_file.hpp.
#include "adapters/replay/part_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstddef>
#include <system_error>
#include <utility>

namespace meniscus::adapters::replay {

namespace {
engine::Error system_error(const std::string& what, const std::filesystem::path& path, int code) {
  return {engine::Errc::Input,
          what + " " + path.string() + ": " + std::generic_category().message(code), 0, 0};
}
}  // namespace

PartFile::~PartFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

engine::Status PartFile::open() {
  if (descriptor_ >= 0) return engine::Done{};
  descriptor_ = ::open(path_.c_str(), O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC | O_NOFOLLOW,
                       S_IRUSR | S_IWUSR);
  if (descriptor_ < 0) return system_error("cannot write", path_, errno);
  return engine::Done{};
}

engine::Status PartFile::append(std::string_view images) {
  if (images.empty()) return engine::Done{};
  const std::lock_guard lock(mutex_);
  engine::Status opened = open();
  if (!opened) return opened;
  while (!images.empty()) {
    const ssize_t put = ::write(descriptor_, images.data(), images.size());
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) return system_error("cannot write", path_, errno);
    images.remove_prefix(static_cast<std::size_t>(put));
  }
  return engine::Done{};
}

engine::Result<std::string> PartFile::read() {
  const std::lock_guard lock(mutex_);
  if (descriptor_ < 0 && !std::filesystem::exists(path_)) return std::string();
  const engine::Status opened = open();
  if (!opened) return opened.error();
  struct stat about {};
  if (::fstat(descriptor_, &about) != 0) return system_error("cannot read", path_, errno);
  std::string bytes(static_cast<std::size_t>(about.st_size), '\0');
  for (std::size_t had = 0; had < bytes.size();) {
    const ssize_t got =
        ::pread(descriptor_, bytes.data() + had, bytes.size() - had, static_cast<off_t>(had));
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return system_error("cannot read", path_, got < 0 ? errno : EIO);
    had += static_cast<std::size_t>(got);
  }
  return bytes;
}

void PartFile::remove() {
  const std::lock_guard lock(mutex_);
  if (descriptor_ >= 0) ::close(std::exchange(descriptor_, -1));
  std::error_code ignored;
  std::filesystem::remove(path_, ignored);
}

}  // namespace meniscus::adapters::replay
