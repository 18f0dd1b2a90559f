// A console whose output is kept.
#pragma once

#include <string>

#include "adapters/cli/console.hpp"

namespace meniscus::testing {

struct CapturedConsole : adapters::Console {
  CapturedConsole() {
    out = [this](std::string_view text) { return keep(said, text); };
    err = [this](std::string_view text) { return keep(complained, text); };
  }
  CapturedConsole(const CapturedConsole&) = delete;
  CapturedConsole& operator=(const CapturedConsole&) = delete;

  std::string said;        // standard output
  std::string complained;  // standard error

 private:
  static engine::Status keep(std::string& into, std::string_view text) {
    into += text;
    return engine::Done{};
  }
};

}  // namespace meniscus::testing
