// Rows of diagnostics.def as data.
#include "grammar/diagnostics.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>

namespace meniscus::grammar {
namespace {

using engine::Severity;

constexpr auto kCodes = std::to_array<CodeInfo>({
#define DIAGNOSTIC(code, severity, title) {Code::code, #code, Severity::severity, #severity, title},
#include "grammar/diagnostics.def"
#undef DIAGNOSTIC
});

constexpr auto kPages = std::to_array<CodePage>({
#define PAGE(code, means, why, mend, wrong, right) {Code::code, means, why, mend, wrong, right},
#include "grammar/pages/changes.def"
#include "grammar/pages/lint.def"
#include "grammar/pages/names.def"
#include "grammar/pages/parts.def"
#include "grammar/pages/tables.def"
#include "grammar/pages/writing.def"
#undef PAGE
});

/// Pages by code; every code has one.
constexpr auto kPageOf = [] {
  std::array<std::size_t, kCodes.size()> places{};
  places.fill(kPages.size());
  for (std::size_t i = 0; i < kPages.size(); ++i)
    places[static_cast<std::size_t>(kPages[i].code)] = i;
  return places;
}();
static_assert(kPages.size() == kCodes.size() &&
                  std::find(kPageOf.begin(), kPageOf.end(), kPages.size()) == kPageOf.end(),
              "every code has one page in grammar/pages/");

}  // namespace

std::span<const CodeInfo> all_codes() { return kCodes; }

const CodeInfo& info(Code code) { return kCodes[static_cast<std::size_t>(code)]; }

const CodePage& page(Code code) { return kPages[kPageOf[static_cast<std::size_t>(code)]]; }

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
