// A compiled text pattern (`matches`), behind an interface because the engine has no regular
// expressions of its own.  Matching must be linear in the text.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::engine {

class Pattern {
 public:
  Pattern() = default;
  Pattern(const Pattern&) = delete;
  Pattern& operator=(const Pattern&) = delete;
  virtual ~Pattern() = default;
  /// True when the pattern is found anywhere in `text`.  Safe to call from several threads.
  [[nodiscard]] virtual bool found_in(std::string_view text) const = 0;
};

/// Compiles a pattern.  Errors: Syntax.
using PatternCompiler =
    std::function<Result<std::shared_ptr<const Pattern>>(const std::string& pattern)>;

}  // namespace meniscus::engine
