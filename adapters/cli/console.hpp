// What the commands know of the world outside: three streams, the environment, today's date.
//
// Tests:   a Console over strings; main() makes the one over file descriptors.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>

#include "adapters/report/output.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

class HeapPages;

struct Console {
  WriteBytes out;
  WriteBytes err;
  bool in_is_terminal = false;
  bool out_is_terminal = false;
  bool err_is_terminal = false;
  bool colour = false;            // emphasis on `out`
  std::filesystem::path program;  // where the program itself stands
  std::string rules_path;         // $MENISCUS_RULES
  std::filesystem::path folder;   // the working folder; empty: unknown
  std::function<std::string(const std::string& name)> variable;  // of the environment
  std::function<std::string()> message_time;  // now, as HL7 writes it: 20260302091400+0100
  std::function<std::int64_t()> local_day;    // the day it is now; `today` is that of the start
  std::function<bool()> pause;  // waits a moment before looking again; false: stop looking
  HeapPages* heap = nullptr;    // of this process, when its heap is watched
  std::int64_t today = 0;       // days since 1970-01-01, by the host's clock and time zone

  /// One sentence to stderr: "meniscus: ...".
  void complain(std::string_view sentence) const;
  /// Text as it stands, with its own line ends.
  void say(std::string_view text) const;
  void say_err(std::string_view text) const;
};

/// The console of this process.
Console process_console(const char* argument_zero);

}  // namespace meniscus::adapters
