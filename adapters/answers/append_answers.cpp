// Adding lines to the file of answers (contract: answers_file.hpp).
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "adapters/answers/answers_file.hpp"

namespace meniscus::adapters {
namespace {

/// An open file that is locked for this writer alone.
class LockedFile {
 public:
  explicit LockedFile(const std::string& path)
      : descriptor_(
            ::open(path.c_str(), O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, S_IRUSR | S_IWUSR)) {}
  ~LockedFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  LockedFile(const LockedFile&) = delete;
  LockedFile& operator=(const LockedFile&) = delete;

  /// False where the system refuses; errno says why.
  bool append(std::string_view lines) {
    struct stat before {};
    if (descriptor_ < 0 || ::flock(descriptor_, LOCK_EX) != 0 || ::fstat(descriptor_, &before) != 0)
      return false;
    std::string text;
    char last = '\n';
    if (before.st_size > 0 && ::pread(descriptor_, &last, 1, before.st_size - 1) != 1) return false;
    if (last != '\n') text += '\n';  // somebody's last line has no end
    text += lines;
    if (write_all(text) && ::fsync(descriptor_) == 0) return true;
    const int why = errno;
    if (::ftruncate(descriptor_, before.st_size) != 0) return false;
    errno = why;
    return false;
  }

 private:
  [[nodiscard]] bool write_all(std::string_view text) const {
    while (!text.empty()) {
      const ssize_t written = ::write(descriptor_, text.data(), text.size());
      if (written < 0 && errno == EINTR) continue;
      if (written <= 0) return false;
      text.remove_prefix(static_cast<std::size_t>(written));
    }
    return true;
  }

  int descriptor_;
};

}  // namespace

engine::Status append_answers(const std::string& path, std::string_view lines) {
  LockedFile file(path);
  if (file.append(lines)) return engine::Done{};
  return engine::Error{engine::Errc::Input,
                       "the answer could not be kept in " + path + ": " + std::strerror(errno), 0,
                       0};
}

}  // namespace meniscus::adapters
