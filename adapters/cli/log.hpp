// What the program says about itself, to stderr.  Never a field's value, at any level.
#pragma once

#include <memory>
#include <string_view>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"

namespace meniscus::adapters {

class Log {
 public:
  Log(LogLevel level, const Console& console);
  ~Log();
  Log(const Log&) = delete;
  Log& operator=(const Log&) = delete;

  void debug(std::string_view text) const;
  void info(std::string_view text) const;
  void warn(std::string_view text) const;
  void error(std::string_view text) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace meniscus::adapters
