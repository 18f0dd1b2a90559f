// Any bytes as HL7 v2: the reader and the answer writer neither crash nor hang, and reading in
// pieces gives what reading at once gives.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/hl7v2/hl7_source.hpp"
#include "tests/support/text_input.hpp"

namespace {

using meniscus::engine::OrderBlock;

/// Everything that was read, in one text.
std::string read_all(const std::string& text, std::size_t piece) {
  const meniscus::engine::Feed feed;
  const meniscus::engine::ReadContext context{nullptr, &feed};
  meniscus::adapters::hl7v2::Hl7Source source(meniscus::testing::text_input(text, piece), context);
  meniscus::adapters::hl7v2::Hl7AckSink sink(
      {meniscus::adapters::hl7v2::OnHold::Ua, meniscus::engine::Outcome::Clarify},
      [](std::string_view) { return true; }, [] { return std::string("20260302091400"); });
  OrderBlock block;
  std::string out;
  while (source.next(block)) {
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      out += block.record(lane).reason + "\n";
      for (const auto& field : meniscus::engine::fields()) {
        const auto origin = block.origin(lane, field.id);
        if (origin.length > 0) out += source.place(block, lane, field.id, origin).at;
        out += block.written(lane, field.id);
        out += ';';
      }
      meniscus::engine::Verdict verdict;
      verdict.lane = lane;
      verdict.outcome = meniscus::engine::Outcome::Hold;
      sink.write(verdict, block, source);
    }
  }
  return out;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  if (read_all(text, 1U << 20U) != read_all(text, 7)) std::abort();
  return 0;
}
