// Telling what is compressed, and unpacking it (contract: compressed_bytes.hpp).
#include "adapters/input/compressed_bytes.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "adapters/input/codec.hpp"

namespace meniscus::adapters {
namespace {

using engine::Errc;
using engine::Error;
using engine::Result;

constexpr std::size_t kBuffer = std::size_t{64} << 10U;
constexpr std::string_view kGzip = "\x1F\x8B";
constexpr std::string_view kZstd = "\x28\xB5\x2F\xFD";
constexpr std::string_view kSkippableEnd = "\x2A\x4D\x18";  // behind one of 50 to 5F

/// `bytes` begin with `magic`, or are its beginning.
bool may_be(std::string_view bytes, std::string_view magic) {
  const std::size_t both = std::min(bytes.size(), magic.size());
  return bytes.substr(0, both) == magic.substr(0, both);
}

bool may_be_skippable(std::string_view bytes) {
  return bytes.empty() || (bytes.front() >= '\x50' && bytes.front() <= '\x5F' &&
                           may_be(bytes.substr(1), kSkippableEnd));
}

std::string_view sentence(CodecFault fault) {
  switch (fault) {
    case CodecFault::Damaged:
      return "data are damaged, after ";
    case CodecFault::Trailing:
      return "data are followed by something else, after ";
    case CodecFault::Window:
      return "data need more than 128 MiB of memory, after ";
    case CodecFault::Dictionary:
      return "data need a dictionary, after ";
    case CodecFault::Memory:
      return "data need memory that the system does not give, after ";
    case CodecFault::None:
      break;
  }
  return "data end early, after ";
}

class UnpackedBytes : public engine::ByteSource {
 public:
  UnpackedBytes(std::unique_ptr<engine::ByteSource> packed, const std::string& name)
      : packed_(std::move(packed)), name_(name == "-" ? "standard input" : name) {}

  Result<std::size_t> read(char* into, std::size_t size) override {
    if (error_) return *error_;
    if (!told_) tell();
    if (error_) return *error_;
    return codec_ == nullptr ? hand_on(into, size) : unpack(into, size);
  }

 private:
  [[nodiscard]] std::string_view rest() const { return {buffer_.data() + begin_, end_ - begin_}; }

  /// Looks at the first bytes; they stay in the buffer.
  void tell() {
    told_ = true;
    buffer_.resize(kBuffer);
    for (;;) {
      const std::string_view bytes = rest();
      const bool gzip = may_be(bytes, kGzip);
      const bool zstd = may_be(bytes, kZstd) || may_be_skippable(bytes);
      if (!gzip && !zstd) return;
      if (gzip && bytes.size() >= kGzip.size()) {
        codec_ = make_gzip_codec();
        return;
      }
      if (zstd && bytes.size() >= kZstd.size()) {
        codec_ = make_zstd_codec();
        return;
      }
      if (!fill()) return;
    }
  }

  /// One more read, behind what is in the buffer.  False at the end.
  bool fill() {
    if (ended_) return false;
    if (begin_ == end_) begin_ = end_ = 0;
    const Result<std::size_t> got = packed_->read(buffer_.data() + end_, buffer_.size() - end_);
    if (!got) error_ = got.error();
    ended_ = !got || *got == 0;
    if (!ended_) end_ += *got;
    return !ended_;
  }

  Result<std::size_t> hand_on(char* into, std::size_t size) {
    if (begin_ == end_) return ended_ ? Result<std::size_t>{0} : packed_->read(into, size);
    const std::size_t count = std::min(size, end_ - begin_);
    std::memcpy(into, buffer_.data() + begin_, count);
    begin_ += count;
    return count;
  }

  Result<std::size_t> unpack(char* into, std::size_t size) {
    for (;;) {
      // A step that filled `into` may have more to give without being fed.
      const bool owes = full_ && open_;
      if (begin_ == end_ && !owes && !fill()) return end();
      const Unpacking done = codec_->step(rest(), into, size);
      begin_ += done.taken;
      taken_ += done.taken;
      full_ = done.given == size;
      open_ = done.open;
      if (done.fault != CodecFault::None) error_ = error(done.fault);
      if (done.given > 0) return done.given;
      if (error_) return *error_;
    }
  }

  Result<std::size_t> end() {
    if (!error_ && open_) error_ = error(CodecFault::None);
    if (error_) return *error_;
    return std::size_t{0};
  }

  [[nodiscard]] Error error(CodecFault fault) const {
    return {Errc::Input, "cannot read " + name_ + ": its " + std::string(codec_->name()) + " " +
                             std::string(sentence(fault)) + std::to_string(taken_) + " bytes"};
  }

  std::unique_ptr<engine::ByteSource> packed_;
  std::string name_;
  std::vector<char> buffer_;
  std::size_t begin_ = 0;
  std::size_t end_ = 0;
  std::uint64_t taken_ = 0;  // by the codec, since the beginning
  std::unique_ptr<Codec> codec_;
  std::optional<Error> error_;
  bool told_ = false;
  bool ended_ = false;
  bool full_ = false;
  bool open_ = false;
};

}  // namespace

std::unique_ptr<engine::ByteSource> unpacked_bytes(std::unique_ptr<engine::ByteSource> packed,
                                                   const std::string& name) {
  return std::make_unique<UnpackedBytes>(std::move(packed), name);
}

}  // namespace meniscus::adapters
