// Contract: see batch_count.hpp.
#include "adapters/hl7v2/batch_count.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/message.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

/// The count that a trailer states, or -1.
long stated_count(std::string_view trailer) {
  Message m;
  m.parse(trailer);
  if (m.segments().empty()) return -1;
  const std::string_view text = trim(m.first(m.field(m.segments()[0], 1), 1));
  long count = -1;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), count);
  return error == std::errc{} && end == text.data() + text.size() ? count : -1;
}

}  // namespace

std::optional<BatchCount::Off> BatchCount::compare(std::string_view trailer, std::string_view what,
                                                   long counted) {
  const long stated = stated_count(trailer);
  if (stated < 0 || stated == counted) return std::nullopt;
  const bool lost = counted < stated;
  std::string reason = std::string(what) + " says " + std::to_string(stated) + ", " +
                       std::to_string(counted) + " were read";
  return Off{reason + (lost ? ": some may be lost" : ""), lost};
}

std::optional<BatchCount::Off> BatchCount::end_batch() const {
  if (!in_batch_) return std::nullopt;
  return Off{"the batch has no trailer (BTS): some of it may be lost", true};
}

std::optional<BatchCount::Off> BatchCount::end() const {
  if (!in_file_) return end_batch();
  if (!in_batch_) return Off{"the file has no trailer (FTS): some of it may be lost", true};
  return Off{"the batch (BTS) and the file (FTS) have no trailer: some of them may be lost", true};
}

std::optional<BatchCount::Off> BatchCount::take(const Unit& unit) {
  std::optional<Off> off;
  switch (unit.kind) {
    case UnitKind::Message:
      ++messages_;
      break;
    case UnitKind::FileHeader:
      off = end();
      batches_ = 0;
      in_batch_ = false;
      in_file_ = true;
      break;
    case UnitKind::BatchHeader:
      off = end_batch();
      messages_ = 0;
      ++batches_;
      in_batch_ = true;
      break;
    case UnitKind::BatchTrailer:
      in_batch_ = false;
      return compare(unit.text, "the batch trailer (BTS-1)", std::exchange(messages_, 0));
    case UnitKind::FileTrailer:
      off = end_batch();
      in_batch_ = false;
      in_file_ = false;
      if (!off) off = compare(unit.text, "the file trailer (FTS-1)", batches_);
      break;
    case UnitKind::Other:
      break;
  }
  return off;
}

bool is_of_no_message(std::string_view text) {
  constexpr std::array<std::string_view, 4> kNames = {"FHS", "BHS", "BTS", "FTS"};
  return text.empty() || std::ranges::find(kNames, text.substr(0, 3)) != kNames.end();
}

}  // namespace meniscus::adapters::hl7v2
