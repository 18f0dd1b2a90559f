// The registry of everything that can be wrong with a rule file or a table.
//
// Holds:  one code a row of diagnostics.def, with its severity and short title.
// Use:    diagnose(Code::R0203, source, span, "cannot compare mass with volume", "write `5 mL`")
// Pages:  grammar/pages/*.def has one for every code; `meniscus rules explain-code` prints it and
//         docs/diagnostics.md is made of them.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "engine/base/diagnostic.hpp"
#include "engine/base/source_text.hpp"

namespace meniscus::grammar {

enum class Code : std::uint16_t {
#define DIAGNOSTIC(code, severity, title) code,
#include "grammar/diagnostics.def"
#undef DIAGNOSTIC
};

struct CodeInfo {
  Code code;
  std::string_view name;  // "R0203"
  engine::Severity severity;
  std::string_view severity_name;  // "Error"
  std::string_view title;
};

/// All rows, in order; indexed by the enumerator's value.
std::span<const CodeInfo> all_codes();
const CodeInfo& info(Code code);

/// What a person is told about a code, in whole sentences.  `wrong` and `right` are rule texts of
/// one or several files (docs/code_pages.py says how they are written); tests run both.
struct CodePage {
  Code code;
  std::string_view means, why, mend;
  std::string_view wrong, right;
};
const CodePage& page(Code code);

/// A diagnostic with the code's name and severity filled in.
engine::Diagnostic diagnose(Code code, std::shared_ptr<const engine::SourceText> source,
                            engine::Span span, std::string message, std::string help = {});

}  // namespace meniscus::grammar
