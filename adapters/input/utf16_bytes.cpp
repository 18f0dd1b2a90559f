// Contract: see utf16_bytes.hpp.
#include "adapters/input/utf16_bytes.hpp"

#include <iconv.h>

#include <algorithm>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <optional>
#include <type_traits>
#include <utility>
#include <vector>

namespace meniscus::adapters {
namespace {

using engine::Errc;
using engine::Error;
using engine::Result;

constexpr std::size_t kBuffer = std::size_t{64} << 10U;
constexpr std::size_t kMark = 2;
constexpr std::size_t kLongest = 4;  // bytes of UTF-8 for a character

class Utf8Bytes : public engine::ByteSource {
 public:
  Utf8Bytes(std::unique_ptr<engine::ByteSource> bytes, const std::string& name)
      : bytes_(std::move(bytes)), name_(name == "-" ? "standard input" : name), from_(kBuffer) {}

  Result<std::size_t> read(char* into, std::size_t size) override {
    if (!told_) tell();
    if (handle_ != nullptr) return converted(into, size);
    if (begin_ < end_) return take(from_, begin_, end_, into, size);
    if (error_) return *error_;
    return ended_ ? Result<std::size_t>{0} : bytes_->read(into, size);
  }

 private:
  struct Close {
    void operator()(iconv_t handle) const { iconv_close(handle); }
  };

  static std::size_t take(const std::vector<char>& from, std::size_t& begin, std::size_t end,
                          char* into, std::size_t size) {
    const std::size_t count = std::min(size, end - begin);
    std::memcpy(into, from.data() + begin, count);
    begin += count;
    return count;
  }

  /// One more read, behind what is there.  False at the end.
  bool fill() {
    if (ended_) return false;
    std::memmove(from_.data(), from_.data() + begin_, end_ - begin_);
    end_ -= begin_;
    begin_ = 0;
    const Result<std::size_t> got = bytes_->read(from_.data() + end_, from_.size() - end_);
    if (!got) error_ = got.error();
    ended_ = !got || *got == 0;
    if (!ended_) end_ += *got;
    return !ended_;
  }

  /// Waits for the second byte only where the first may be that of a mark.
  void tell() {
    told_ = true;
    const auto first = [this] { return static_cast<unsigned char>(from_[0]); };
    while (end_ < kMark && (end_ == 0 || first() >= 0xFE) && fill()) {
    }
    if (end_ < kMark) return;
    const auto second = static_cast<unsigned char>(from_[1]);
    const bool little = first() == 0xFF && second == 0xFE;
    if (!little && !(first() == 0xFE && second == 0xFF)) return;
    const iconv_t opened = iconv_open("UTF-8", little ? "UTF-16LE" : "UTF-16BE");
    if (reinterpret_cast<std::intptr_t>(opened) == -1) return;
    handle_.reset(opened);
    begin_ = kMark;
    taken_ = kMark;
    to_.resize(kBuffer / 2 * kLongest);
    convert();
  }

  Result<std::size_t> converted(char* into, std::size_t size) {
    while (to_begin_ == to_end_) {
      if (failed_) return *failed_;
      const bool more = fill();
      if (more) {
        convert();
        continue;
      }
      if (error_) return *error_;
      if (begin_ == end_) return std::size_t{0};
      fail("half a character at the end");
    }
    return take(to_, to_begin_, to_end_, into, size);
  }

  void convert() {
    char* from = from_.data() + begin_;
    std::size_t left = end_ - begin_;
    char* to = to_.data();
    std::size_t room = to_.size();
    const bool done =
        iconv(handle_.get(), &from, &left, &to, &room) != static_cast<std::size_t>(-1);
    // EINVAL: a character whose second half is still to come.
    const bool waits = !done && errno == EINVAL;
    const std::size_t count = end_ - begin_ - left;
    taken_ += count;
    begin_ += count;
    to_begin_ = 0;
    to_end_ = to_.size() - room;
    if (!done && !waits) fail("bytes that are no UTF-16");
  }

  void fail(std::string_view what) {
    failed_ = Error{Errc::Input, "cannot read " + name_ + ": " + std::string(what) + ", after " +
                                     std::to_string(taken_) + " bytes"};
  }

  std::unique_ptr<engine::ByteSource> bytes_;
  std::string name_;
  std::vector<char> from_;
  std::size_t begin_ = 0;
  std::size_t end_ = 0;
  std::uint64_t taken_ = 0;  // by the conversion, since the beginning
  std::vector<char> to_;
  std::size_t to_begin_ = 0;
  std::size_t to_end_ = 0;
  std::unique_ptr<std::remove_pointer_t<iconv_t>, Close> handle_;
  std::optional<Error> error_;   // of the source
  std::optional<Error> failed_;  // of the conversion
  bool told_ = false;
  bool ended_ = false;
};

}  // namespace

std::unique_ptr<engine::ByteSource> utf8_bytes(std::unique_ptr<engine::ByteSource> bytes,
                                               const std::string& name) {
  return std::make_unique<Utf8Bytes>(std::move(bytes), name);
}

}  // namespace meniscus::adapters
