// Fuzz target: the reader of compiled rules.
//
// Property: nothing crashes, whatever the bytes are; a program that is read can be printed, and is
//           written and read again as the same.
// Input:    what stands behind the build's fingerprint; the head is made here, with the right check
//           sum, so that the search does not stop at it.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/compiled/compiled_rules.hpp"
#include "engine/program/program.hpp"

namespace {

namespace adapters = meniscus::adapters;
namespace engine = meniscus::engine;

/// The head of a file of this build: all up to the origin.
const std::string& head() {
  static const std::string kHead = [] {
    // A file of nothing: the origin has two days, a flag and two empty lists; the program's lists
    // are empty too.
    const auto file = adapters::write_compiled({}, {}, {});
    constexpr std::size_t kHeadSize = 16 + 4 + 4 + 64;
    return file->substr(0, kHeadSize);
  }();
  return kHead;
}

engine::Result<std::shared_ptr<const engine::Pattern>> no_pattern(const std::string& /*text*/) {
  return engine::Error{engine::Errc::Syntax, "none is asked for", 0, 0};
}

void write_again(const adapters::CompiledFile& file, const engine::Program& program) {
  const std::vector<std::string> patterns(program.patterns.size());
  const auto once = adapters::write_compiled(file.origin(), program, patterns);
  if (!once) __builtin_trap();
  const adapters::CompiledFile again(*once);
  const auto same = again.program(no_pattern, 0, true);
  if (same == nullptr || engine::print(*same) != engine::print(program)) __builtin_trap();
  const auto twice = adapters::write_compiled(again.origin(), *same, patterns);
  if (!twice || *twice != *once) __builtin_trap();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view input(reinterpret_cast<const char*>(data), size);
  if (adapters::CompiledFile(std::string(input)).fault() == adapters::CompiledFault::None)
    __builtin_trap();  // without the head of this build
  std::string bytes = head() + std::string(input);
  adapters::seal_compiled(bytes);
  const adapters::CompiledFile file(std::move(bytes));
  const auto program = file.program(no_pattern, 0, true);
  if (program != nullptr) write_again(file, *program);
  return 0;
}
