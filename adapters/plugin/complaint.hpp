// Why a call failed: a code, a text for people, and a list of problems for programs.
//
// Lifetime: the texts live until the next call that begins with clear().
// Safe:     fall() needs no memory, so that running out of it can be told.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "adapters/plugin/meniscus.h"
#include "adapters/support/input_problem.hpp"
#include "engine/base/diagnostic.hpp"

namespace meniscus::adapters {

class Complaint {
 public:
  void clear() noexcept;

  /// One sentence without a place.  `code`: what the trouble is with.
  MeniscusStatus fail(MeniscusStatus status, std::string_view code, std::string_view sentence);
  /// A problem in a file that a person wrote.
  void add(std::string_view code, const InputProblem& problem, const std::string& file);
  void add(const engine::Diagnostic& diagnostic);
  /// After add(): the call fails for what was added.
  MeniscusStatus fail(MeniscusStatus status) noexcept;
  /// Without a text of its own.
  MeniscusStatus fall(MeniscusStatus status) noexcept;

  /// Empty when nothing failed.
  [[nodiscard]] const char* text() const noexcept;
  [[nodiscard]] const char* problems() const noexcept;

 private:
  struct Entry {
    std::string_view code, severity, file, message, help;
    std::uint64_t line = 0;
    std::uint64_t column = 0;
  };
  void append(const Entry& entry);
  std::string& new_line();

  MeniscusStatus status_ = MENISCUS_OK;
  std::string text_;
  std::string problems_;  // a JSON list, or empty
};

/// One sentence; for the numbers that C hands in.
const char* text_of_status(int status) noexcept;

}  // namespace meniscus::adapters
