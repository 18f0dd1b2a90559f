// A compiled rule set as bytes: made by `meniscus rules compile`, read instead of compiling.
//
// Holds:    what the program was compiled from, byte for byte (names and texts of the rule files in
//           their order, texts of the tables), for which days and with what leave, and the program
//           but for what finish_program() works out.
// Format:   ours, little-endian, without padding.
//             8  magic "MNSRULES"     8  check sum of all that follows
//             4  version of the format    64  fingerprint of the build, hexadecimal
//             then the origin and the program, field by field (transfer.hpp): numbers of fixed
//             width, texts and lists behind their length in four bytes.
// Refused:  what another build wrote (fingerprint.hpp: any other source of engine/ or grammar/),
//           and what is damaged.  The check sum finds any change within one word of
//           eight bytes with certainty.
// Reading:  any bytes are read without harm: every count, index and enumerator is checked before it
//           is used, and no more is allocated than some times the size of the bytes.
// Trust:    the check sum finds accidents, not malice.  Who may write the file may change the
//           rules, as who may write the rule files may.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.hpp"
#include "engine/ports/pattern.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// Of which the views point into the file's bytes, or into what the caller compiled.
struct CompiledSource {
  std::string_view name;
  std::string_view text;
  bool shipped = false;
};
/// What a program was compiled from, and when it is what a compilation would give.
struct CompiledOrigin {
  std::int64_t first_day = 0;  // of the rules, since 1970-01-01; both included
  std::int64_t last_day = 0;
  bool allow_mute_hold = false;
  std::vector<CompiledSource> rules;   // in the order of loading
  std::vector<CompiledSource> tables;  // by the path under which they were read
};

/// The file's bytes.  `patterns`: the texts of program.patterns, in their order.  Errors: Internal,
/// when the program is not of that origin.
engine::Result<std::string> write_compiled(const CompiledOrigin& origin,
                                           const engine::Program& program,
                                           const std::vector<std::string>& patterns);

enum class CompiledFault : std::uint8_t { None, OtherBuild, Damaged };

/// A file that was found whole.  Owns its bytes.
class CompiledFile {
 public:
  explicit CompiledFile(std::string bytes);

  [[nodiscard]] CompiledFault fault() const { return fault_; }
  [[nodiscard]] const CompiledOrigin& origin() const { return origin_; }  // without a fault

  /// The finished program as that of `rules_day`, with its examples or without.  Its texts are
  /// those of the file, which it keeps.  Null: the file is damaged after all.
  [[nodiscard]] std::shared_ptr<const engine::Program> program(
      const engine::PatternCompiler& patterns, std::int64_t rules_day, bool examples) const;

 private:
  std::shared_ptr<const std::string> bytes_;
  CompiledFault fault_ = CompiledFault::Damaged;
  CompiledOrigin origin_;
  std::size_t program_at_ = 0;
};

/// Sets the check sum of a file's bytes anew; for tests that look behind it.
void seal_compiled(std::string& bytes);

}  // namespace meniscus::adapters
