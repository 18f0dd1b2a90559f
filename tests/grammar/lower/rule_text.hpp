// Compiles rule text that stands in a test, with tables from memory.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "grammar/compile.hpp"

namespace meniscus::grammar::testing {

/// A pattern that is found when its text stands in the other one; `(` alone is no pattern.
class PlainPattern : public engine::Pattern {
 public:
  explicit PlainPattern(std::string wanted) : wanted_(std::move(wanted)) {}
  [[nodiscard]] bool found_in(std::string_view text) const override {
    return text.find(wanted_) != std::string_view::npos;
  }

 private:
  std::string wanted_;
};

using Tables = std::map<std::string, std::string>;

inline CompileOptions options_with(const Tables& tables) {
  CompileOptions options;
  options.read_file = [tables](const std::string& path) -> engine::Result<std::string> {
    const auto at = tables.find(path);
    if (at != tables.end()) return at->second;
    return engine::Error{engine::Errc::Input, "no such file", 0, 0};
  };
  options.compile_pattern =
      [](const std::string& text) -> engine::Result<std::shared_ptr<const engine::Pattern>> {
    if (text == "(") return engine::Error{engine::Errc::Syntax, "a bracket is open", 0, 1};
    return std::shared_ptr<const engine::Pattern>(std::make_shared<PlainPattern>(text));
  };
  return options;
}

inline Compiled compile_text(const std::string& text, const Tables& tables = {}) {
  return compile({{"test.rule", text}}, options_with(tables));
}

/// A rule with one clause; the condition starts in line 3, column 21.
inline std::string rule_when(const std::string& condition) {
  return "rule r \"t\"\n    concerns all orders\n    raise hold when " + condition +
         "\n        say \"x\"\n        blames volume\n";
}

/// `LINE:COLUMN CODE message`, one a diagnostic.
inline std::vector<std::string> lines_of(const Compiled& compiled) {
  std::vector<std::string> lines;
  for (const engine::Diagnostic& d : compiled.diagnostics) {
    const engine::LineColumn at = d.source->locate(d.span.begin);
    lines.push_back(std::to_string(at.line) + ":" + std::to_string(at.column) + " " + d.code + " " +
                    d.message);
  }
  return lines;
}

}  // namespace meniscus::grammar::testing
