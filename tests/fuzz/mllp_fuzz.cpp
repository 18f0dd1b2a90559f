// Any bytes as MLLP frames: the cutter neither crashes nor hangs, loses no frame, and gives in
// pieces what it gives at once.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "adapters/mllp/frame_cutter.hpp"

namespace {

using meniscus::adapters::mllp::Frame;
using meniscus::adapters::mllp::FrameCutter;
using meniscus::adapters::mllp::FrameKind;

constexpr std::size_t kLargest = FrameCutter::kShown;

/// All frames in one text, and the count of what was skipped.
std::string cut_all(std::string_view text, std::size_t piece) {
  FrameCutter cutter(kLargest);
  Frame frame;
  std::string out;
  const auto take = [&] {
    while (cutter.next(frame)) {
      if (frame.bytes.empty() || frame.bytes.front() != '\x0B') std::abort();
      if (frame.kind == FrameKind::Whole && frame.bytes.back() != '\x1C') std::abort();
      if (frame.bytes.size() > kLargest + 2) std::abort();
      out += std::to_string(static_cast<int>(frame.kind));
      out += frame.bytes;
    }
  };
  while (!text.empty()) {
    const auto room = cutter.room();
    if (room.empty() || room.size() > FrameCutter::kPiece) std::abort();
    const std::size_t count = std::min({room.size(), text.size(), piece});
    std::copy_n(text.begin(), count, room.begin());
    cutter.add(count);
    text.remove_prefix(count);
    take();
  }
  cutter.end();
  take();
  return out + "/" + std::to_string(cutter.skipped());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const std::string whole = cut_all(text, text.size());
  if (whole != cut_all(text, 1) || whole != cut_all(text, 7)) std::abort();
  return 0;
}
