// How a host wants rules loaded and orders checked: the settings of meniscus.h, read.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/plugin/complaint.hpp"
#include "adapters/plugin/meniscus.h"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// Where a checker knows from what patients had before.
enum class HistoryFrom : std::uint8_t {
  Memory,  // from the first order on; what was before is unknown
  Input,   // what is handed over is all there was
  Store,   // a file
  Host     // the host is asked
};

struct Wanted {
  std::vector<std::string> rules;
  bool only_rules = false;
  std::string shipped_rules;  // path, or empty: looked for
  std::optional<std::int64_t> rules_as_of;
  bool allow_mute_hold = false;

  std::string profile;  // paths, or empty
  std::string answers;
  std::optional<std::int64_t> as_of;
  bool slips = true;
  HistoryFrom history = HistoryFrom::Memory;  // without a callback
  std::string store;                          // sqlite:PATH
  std::optional<std::int64_t> history_since;
  std::optional<hl7v2::OnHold> on_hold;
  engine::Outcome fail_at = engine::Outcome::Incomplete;

  MeniscusHistoryCallback callback = nullptr;
  void* user_data = nullptr;

  [[nodiscard]] HistoryFrom history_from() const {
    return callback == nullptr ? history : HistoryFrom::Host;
  }
};

/// Sets one by its name; an empty value is the default again.  Gives what is wrong, or nothing.
std::string set(Wanted& wanted, std::string_view name, std::string_view value);

}  // namespace meniscus::adapters

/// The handle.
struct MeniscusSettings {
  meniscus::adapters::Wanted wanted;
  meniscus::adapters::Complaint complaint;
};
