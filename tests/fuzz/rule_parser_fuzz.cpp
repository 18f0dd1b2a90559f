// Fuzz target: the reader of rule files, on any bytes.
//
// Input:    a rule file.
// Property: nothing crashes, every diagnostic has a known code and a place inside the text, the
// same
//           text is read the same way twice, and plain tokens are those of the generated lexer.
#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>

#include "engine/base/diagnostic.hpp"
#include "grammar/diagnostics.hpp"
#include "grammar/frontend/parse.hpp"

namespace {

using namespace meniscus;  // NOLINT(google-build-using-namespace): one target, one file

bool is_known(const std::string& code) {
  for (const grammar::CodeInfo& row : grammar::all_codes()) {
    if (row.name == code) return true;
  }
  return false;
}

std::string told(const grammar::Parsed& parsed, std::size_t size) {
  std::string out;
  for (const engine::Diagnostic& d : parsed.diagnostics) {
    if (!is_known(d.code) || d.span.begin > d.span.end || d.span.end > size) __builtin_trap();
    out += engine::render(d);
  }
  return out;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto source = std::make_shared<const engine::SourceText>(
      "fuzz.rule", std::string(reinterpret_cast<const char*>(data), size));
  if (grammar::raw_tokens(source->text()) != grammar::raw_tokens(source->text(), false))
    __builtin_trap();
  const grammar::Parsed once = grammar::parse(source, {});
  const grammar::Parsed again = grammar::parse(source, {});
  if (!once.file || told(once, size) != told(again, size)) __builtin_trap();
  return 0;
}
