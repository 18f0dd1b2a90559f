// Contract: see json_lines.hpp.
#include "adapters/input/json_lines.hpp"

#include <algorithm>
#include <cstring>
#include <utility>

#include "adapters/input/byte_sources.hpp"
#include "adapters/input/open_orders.hpp"
#include "adapters/support/json_scan.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::size_t kWorthIt = std::size_t{512} << 10U;  // bytes
constexpr std::size_t kStep = std::size_t{256} << 10U;
}  // namespace

bool begins_with_json_line(std::string_view text) {
  const std::size_t end = text.find('\n');
  if (end == std::string_view::npos) return false;
  std::string_view line = text.substr(0, end);
  while (!line.empty() && is_json_space(line.back()))
    line.remove_suffix(1);
  return line.starts_with('{') && line.ends_with('}');
}

bool is_between_records(std::string_view text, std::size_t newline) {
  std::size_t before = newline;
  while (before > 0 && is_json_space(text[before - 1]))
    --before;
  std::size_t after = newline;
  while (after < text.size() && is_json_space(text[after]))
    ++after;
  return before > 0 && text[before - 1] == '}' && after < text.size() && text[after] == '{';
}

void JsonLines::read_on() {
  held_.erase(0, std::exchange(begin_, 0));
  const std::size_t had = held_.size();
  held_.resize(had + kStep);
  const engine::Result<std::size_t> got = bytes_->read(held_.data() + had, kStep);
  held_.resize(had + (got ? *got : 0));
  ended_ = !got || *got == 0;
  if (!got) error_ = got.error();
}

bool JsonLines::worth_it() {
  while (!ended_ && held_.size() < kWorthIt)
    read_on();
  return !ended_ && begins_with_json_line(held_) && detect_format(held_) == Format::Json;
}

/// Behind the last line that ends the piece at hand; 0: it cannot be cut.
std::size_t JsonLines::cut() {
  for (;;) {
    const std::string_view text = std::string_view(held_).substr(begin_);
    std::size_t cut = 0;
    std::size_t lines = 0;
    std::size_t at = 0;
    while (lines < engine::kLanes && at < std::min(text.size(), kMost)) {
      const void* const found = std::memchr(text.data() + at, '\n', text.size() - at);
      if (found == nullptr) break;
      const auto newline = static_cast<std::size_t>(static_cast<const char*>(found) - text.data());
      at = newline + 1;
      ++lines;
      if (at <= kMost && is_between_records(text, newline)) cut = at;
    }
    // Whether a line ends a record shows in what comes after it.
    const bool seen = at < text.size() && (lines == engine::kLanes || at >= kMost);
    if (seen || ended_) return cut;
    if (text.size() > kMost + kStep) return cut;
    read_on();
  }
}

bool JsonLines::take(Piece& piece) {
  const std::size_t size = cut();
  if (size == 0) return false;
  piece.bytes.assign(held_, begin_, size);
  piece.begins = place_;
  place_.offset += size;
  place_.line +=
      static_cast<std::uint64_t>(std::count(piece.bytes.begin(), piece.bytes.end(), '\n'));
  begin_ += size;
  return true;
}

std::unique_ptr<engine::ByteSource> JsonLines::rest(std::string before) {
  before.append(held_, begin_);
  if (error_) return with_bytes_before(std::move(before), broken_off(*std::move(error_)));
  if (ended_) return memory_bytes(std::move(before));
  return with_bytes_before(std::move(before), std::move(bytes_));
}

}  // namespace meniscus::adapters
