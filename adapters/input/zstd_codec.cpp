// Zstandard, by libzstd (contract: codec.hpp).
#include <zstd.h>
#include <zstd_errors.h>

#include "adapters/input/codec.hpp"

namespace meniscus::adapters {
namespace {

struct FreeContext {
  void operator()(ZSTD_DCtx* context) const { ::ZSTD_freeDCtx(context); }
};

class ZstdCodec : public Codec {
 public:
  ZstdCodec() : context_(::ZSTD_createDCtx()) {
    if (context_ != nullptr)
      ::ZSTD_DCtx_setParameter(context_.get(), ZSTD_d_windowLogMax, kLargestWindow);
  }

  Unpacking step(std::string_view packed, char* into, std::size_t size) override {
    Unpacking done;
    if (context_ == nullptr) {
      done.fault = CodecFault::Memory;
      return done;
    }
    ZSTD_inBuffer in{packed.data(), packed.size(), 0};
    ZSTD_outBuffer out{into, size, 0};
    const std::size_t left = ::ZSTD_decompressStream(context_.get(), &out, &in);
    done.taken = in.pos;
    done.given = out.pos;
    done.open = left != 0;
    if (::ZSTD_isError(left) != 0) done.fault = fault_of(::ZSTD_getErrorCode(left));
    whole_ = whole_ || left == 0;
    return done;
  }

  [[nodiscard]] std::string_view name() const override { return "Zstandard"; }

 private:
  [[nodiscard]] CodecFault fault_of(ZSTD_ErrorCode code) const {
    if (code == ZSTD_error_prefix_unknown && whole_) return CodecFault::Trailing;
    if (code == ZSTD_error_frameParameter_windowTooLarge) return CodecFault::Window;
    if (code == ZSTD_error_dictionary_wrong) return CodecFault::Dictionary;
    if (code == ZSTD_error_memory_allocation) return CodecFault::Memory;
    return CodecFault::Damaged;
  }

  std::unique_ptr<ZSTD_DCtx, FreeContext> context_;
  bool whole_ = false;  // at least one frame has been read
};

}  // namespace

std::unique_ptr<Codec> make_zstd_codec() { return std::make_unique<ZstdCodec>(); }

}  // namespace meniscus::adapters
