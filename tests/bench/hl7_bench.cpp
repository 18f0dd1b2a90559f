// Reading speed of HL7 v2: orders a second from one core, messages as they come from a feed.
#include <benchmark/benchmark.h>

#include <memory>
#include <string>

#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/profile/profile.hpp"
#include "tests/bench/order_maker.hpp"
#include "tests/support/table_vocabularies.hpp"
#include "tests/support/text_input.hpp"

namespace {

// A made-up order of the usual size: about 600 bytes.
constexpr std::string_view kMessage =
    "MSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|20260302091400+0100||RDE^O11^RDE_O11|SM00001|P|"
    "2.5.1|||AL|NE\r"
    "PID|1||SM-0012^^^SLATEMOOR^MR||||19880402|F\r"
    "AL1|1|DA|sesame^Sesame oil^L\r"
    "ORC|NW|A-102^SLATEMOOR|F-102^RX||||||20260302091400+0100|||P-7\r"
    "RXE||testosterone-cypionate^Testosterone cypionate 200 mg/mL^L|50||mg^^UCUM|INJ|"
    "^Inject 0.25 mL under the skin once a week|||1|VIAL|3|||||||||||||200|mg|||||||1|mL\r"
    "TQ1|1||Q1W||||20260302\r"
    "RXR|SC^Subcutaneous^HL70162|LLAQ^Left lower abdomen^HL70163\r"
    "OBX|1|NM|29463-7^Body weight^LN||71|kg^^UCUM|||||F|||20260220\r";

void read(benchmark::State& state, const std::string& text, const meniscus::engine::Feed& feed) {
  const auto program = std::make_unique<meniscus::engine::Program>();
  meniscus::testing::load_vocabularies(MENISCUS_SOURCE_DIR "/rules", *program);
  const meniscus::engine::ReadContext context{program.get(), &feed};
  meniscus::engine::OrderBlock block;
  std::int64_t orders = 0;
  for (auto _ : state) {
    meniscus::adapters::hl7v2::Hl7Source source(meniscus::testing::text_input(text), context);
    while (source.next(block))
      orders += block.size();
  }
  state.SetItemsProcessed(orders);
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations() * text.size()));
}

/// One message again and again: the best case for whatever is remembered.
void read_orders(benchmark::State& state) {
  std::string text;
  for (int i = 0; i < 2000; ++i)
    text += kMessage;
  read(state, text, {});
}

/// Messages as the yardstick's: other patients, orders, dates, doses, and a segment of the site's.
void read_made(benchmark::State& state) {
  read(state, meniscus::bench::make_messages(9000, 7),
       *meniscus::adapters::read_profile(meniscus::bench::message_profile()).feed);
}
BENCHMARK(read_orders)->Unit(benchmark::kMillisecond);
BENCHMARK(read_made)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
