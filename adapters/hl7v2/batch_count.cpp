// Contract: see batch_count.hpp.
#include "adapters/hl7v2/batch_count.hpp"

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

std::optional<BatchCount::Off> BatchCount::take(const Unit& unit) {
  switch (unit.kind) {
    case UnitKind::Message:
      ++messages_;
      return std::nullopt;
    case UnitKind::FileHeader:
      batches_ = 0;
      return std::nullopt;
    case UnitKind::BatchHeader:
      messages_ = 0;
      ++batches_;
      return std::nullopt;
    case UnitKind::BatchTrailer:
      return compare(unit.text, "the batch trailer (BTS-1)", std::exchange(messages_, 0));
    case UnitKind::FileTrailer:
      return compare(unit.text, "the file trailer (FTS-1)", batches_);
    case UnitKind::Other:
      return std::nullopt;
  }
  return std::nullopt;
}

}  // namespace meniscus::adapters::hl7v2
