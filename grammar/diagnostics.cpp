// Rows of diagnostics.def as data.
#include "grammar/diagnostics.hpp"

#include <array>
#include <utility>

namespace meniscus::grammar {
namespace {

using engine::Severity;

constexpr auto kCodes = std::to_array<CodeInfo>({
#define DIAGNOSTIC(code, severity, title) {Code::code, #code, Severity::severity, title},
#include "grammar/diagnostics.def"
#undef DIAGNOSTIC
});

}  // namespace

std::span<const CodeInfo> all_codes() { return kCodes; }

const CodeInfo& info(Code code) { return kCodes[static_cast<std::size_t>(code)]; }

engine::Diagnostic diagnose(Code code, std::shared_ptr<const engine::SourceText> source,
                            engine::Span span, std::string message, std::string help) {
  engine::Diagnostic diagnostic;
  diagnostic.code = std::string(info(code).name);
  diagnostic.severity = info(code).severity;
  diagnostic.source = std::move(source);
  diagnostic.span = span;
  diagnostic.message = std::move(message);
  diagnostic.help = std::move(help);
  return diagnostic;
}

}  // namespace meniscus::grammar
