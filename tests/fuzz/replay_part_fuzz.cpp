// Fuzz target: parts of a replay, and the tables that readers send back.
//
// Property: nothing crashes; what can be read as a part can be shown, and is written and read again
//           as the same; a table of labels is taken or refused with its line.
// Input:    a part, and behind a line that is `---` a table of labels.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "adapters/replay/labels.hpp"
#include "adapters/replay/summary.hpp"
#include "adapters/replay/summary_checks.hpp"
#include "adapters/replay/summary_rows.hpp"
#include "adapters/replay/summary_text.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace replay = meniscus::adapters::replay;
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const std::size_t cut = text.find("\n---\n");
  auto part = replay::read_part(text.substr(0, cut));
  if (!part) return 0;
  const std::string written = replay::part_json(*part);
  const auto again = replay::read_part(written);
  if (!again || replay::part_json(*again) != written) __builtin_trap();
  if (cut != std::string_view::npos) {
    replay::Labels labels(*part);
    if (labels.add(text.substr(cut + 5))) labels.settle(*part);
  }
  const std::size_t shown = replay::summary_json(*part, false).size() +
                            replay::summary_text(*part).size() +
                            replay::sample_csv(*part, false).size();
  if (shown == 0) __builtin_trap();
  return 0;
}
