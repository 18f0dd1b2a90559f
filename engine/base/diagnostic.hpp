// What is wrong with a rule file or a table, as data; render() makes it text.
//
// Wording: lower case, no full stop; what was found, then what was needed; code in backticks.  The
//          span marks what is wrong and no more; labels have four words at most.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "engine/base/source_text.hpp"

namespace meniscus::engine {

enum class Severity : std::uint8_t { Error, Warning, Note };

struct Label {
  Span span;
  std::string text;
};

struct Diagnostic {
  std::string code;  // "R0203"; the list is grammar/diagnostics.def
  Severity severity = Severity::Error;
  std::shared_ptr<const SourceText> source;  // shared by all diagnostics of one file
  Span span;
  std::string message;
  std::vector<Label> labels;
  std::string help;
};

/// With source excerpt, carets and labels (see docs/diagnostics.md for the look).  No colour.
std::string render(const Diagnostic& diagnostic);
/// `file:line:column: error[R0203]: message`.
std::string render_line(const Diagnostic& diagnostic);

}  // namespace meniscus::engine
