// Fuzz target: orders from FHIR R4 JSON, in pieces of any size, with every place asked for.
//
// Input:    the first byte is the size of the pieces, the rest is the input.
// Property: nothing crashes, and the pieces make no difference to how many orders are read.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "adapters/fhir/fhir_source.hpp"
#include "tests/fuzz/read_orders.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  meniscus::fuzz::check_pieces(text, 1 + data[0], [](auto input, const auto& context, auto chunk) {
    return meniscus::adapters::fhir::make_fhir_source(std::move(input), context,
                                                      {1U << 20U, chunk});
  });
  return 0;
}
