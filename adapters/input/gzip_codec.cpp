// gzip, by zlib (contract: codec.hpp).
#include <zlib.h>

#include <algorithm>
#include <limits>

#include "adapters/input/codec.hpp"

namespace meniscus::adapters {
namespace {

constexpr int kGzipOnly = MAX_WBITS + 16;  // zlib.h, inflateInit2()
constexpr char kFirstByte = '\x1F';

uInt at_once(std::size_t size) {
  return static_cast<uInt>(std::min<std::size_t>(size, std::numeric_limits<uInt>::max()));
}

class GzipCodec : public Codec {
 public:
  GzipCodec() : ready_(::inflateInit2(&stream_, kGzipOnly) == Z_OK) {}
  ~GzipCodec() override {
    if (ready_) ::inflateEnd(&stream_);
  }

  Unpacking step(std::string_view packed, char* into, std::size_t size) override {
    Unpacking done;
    if (!ready_) {
      done.fault = CodecFault::Memory;
      return done;
    }
    if (!open_) {
      if (packed.front() != kFirstByte) {
        done.fault = CodecFault::Trailing;
        return done;
      }
      ::inflateReset(&stream_);
      open_ = true;
    }
    // zlib reads there and never writes; its interface is older than const.
    // NOLINTNEXTLINE(*-const-cast,*-reinterpret-cast)
    stream_.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream_.avail_in = at_once(packed.size());
    stream_.next_out = reinterpret_cast<Bytef*>(into);  // NOLINT(*-reinterpret-cast)
    stream_.avail_out = at_once(size);
    const int said = ::inflate(&stream_, Z_NO_FLUSH);
    done.taken = at_once(packed.size()) - stream_.avail_in;
    done.given = at_once(size) - stream_.avail_out;
    if (said == Z_STREAM_END) open_ = false;
    done.open = open_;
    if (said == Z_MEM_ERROR) {
      done.fault = CodecFault::Memory;
    } else if (said != Z_OK && said != Z_STREAM_END && said != Z_BUF_ERROR) {
      done.fault = CodecFault::Damaged;
    }
    return done;
  }

  [[nodiscard]] std::string_view name() const override { return "gzip"; }

 private:
  z_stream stream_{};
  bool ready_;
  bool open_ = false;
};

}  // namespace

std::unique_ptr<Codec> make_gzip_codec() { return std::make_unique<GzipCodec>(); }

}  // namespace meniscus::adapters
