// Byte sources over descriptors and memory (contract: byte_sources.hpp).
#include "adapters/input/byte_sources.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <system_error>

namespace meniscus::adapters {
namespace {

using engine::Errc;
using engine::Error;
using engine::Result;

Error system_error(const std::string& what, int code) {
  return {Errc::Input, what + ": " + std::generic_category().message(code)};
}

class DescriptorBytes : public engine::ByteSource {
 public:
  DescriptorBytes(int descriptor, std::string name, bool owned)
      : descriptor_(descriptor), name_(std::move(name)), owned_(owned) {}
  ~DescriptorBytes() override {
    if (owned_) ::close(descriptor_);
  }

  Result<std::size_t> read(char* into, std::size_t size) override {
    for (;;) {
      const ssize_t got = ::read(descriptor_, into, size);
      if (got >= 0) return static_cast<std::size_t>(got);
      if (errno != EINTR) return system_error("cannot read " + name_, errno);
    }
  }

 private:
  int descriptor_;
  std::string name_;
  bool owned_;
};

class MemoryBytes : public engine::ByteSource {
 public:
  MemoryBytes(std::string bytes, std::size_t most) : bytes_(std::move(bytes)), most_(most) {}

  Result<std::size_t> read(char* into, std::size_t size) override {
    const std::size_t count = std::min({size, most_, bytes_.size() - at_});
    std::memcpy(into, bytes_.data() + at_, count);
    at_ += count;
    return count;
  }

 private:
  std::string bytes_;
  std::size_t most_;
  std::size_t at_ = 0;
};

class JoinedBytes : public engine::ByteSource {
 public:
  JoinedBytes(std::string first, std::unique_ptr<engine::ByteSource> rest)
      : first_(std::move(first)), rest_(std::move(rest)) {}

  Result<std::size_t> read(char* into, std::size_t size) override {
    if (at_ == first_.size()) return rest_->read(into, size);
    const std::size_t count = std::min(size, first_.size() - at_);
    std::memcpy(into, first_.data() + at_, count);
    at_ += count;
    return count;
  }

 private:
  std::string first_;
  std::unique_ptr<engine::ByteSource> rest_;
  std::size_t at_ = 0;
};

class BrokenOff : public engine::ByteSource {
 public:
  explicit BrokenOff(engine::Error error) : error_(std::move(error)) {}
  Result<std::size_t> read(char* /*into*/, std::size_t /*size*/) override { return error_; }

 private:
  engine::Error error_;
};

}  // namespace

Result<std::unique_ptr<engine::ByteSource>> open_bytes(const std::string& path) {
  std::unique_ptr<engine::ByteSource> source;
  if (path == "-") {
    source = std::make_unique<DescriptorBytes>(STDIN_FILENO, "standard input", false);
    return source;
  }
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return system_error("cannot open " + path, errno);
  struct stat about {};
  if (::fstat(descriptor, &about) == 0 && S_ISDIR(about.st_mode)) {
    ::close(descriptor);
    return system_error("cannot read " + path, EISDIR);
  }
  source = std::make_unique<DescriptorBytes>(descriptor, path, true);
  return source;
}

std::unique_ptr<engine::ByteSource> memory_bytes(std::string bytes, std::size_t most) {
  return std::make_unique<MemoryBytes>(std::move(bytes), most);
}

std::unique_ptr<engine::ByteSource> with_bytes_before(std::string first,
                                                      std::unique_ptr<engine::ByteSource> rest) {
  return std::make_unique<JoinedBytes>(std::move(first), std::move(rest));
}

std::unique_ptr<engine::ByteSource> broken_off(engine::Error error) {
  return std::make_unique<BrokenOff>(std::move(error));
}

}  // namespace meniscus::adapters
