// The bytes of compiled rules: what is written is read as the same, and nothing else is read at
// all.
#include "adapters/compiled/compiled_rules.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "adapters/compiled/archive.hpp"
#include "adapters/compiled/check_program.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"

namespace meniscus::adapters {
namespace {

constexpr std::int64_t kDay = 20605;  // 2026-06-01

CompiledBytes compiled(const std::string& path) {
  LoadOptions options;
  options.rules_day = kDay;
  return compile_rules({std::string(MENISCUS_SOURCE_DIR) + path}, re2_patterns(), options);
}

/// The rules of the golden tests: few, with a table.
const CompiledBytes& small() {
  static const CompiledBytes kMade = compiled("/tests/golden/rules");
  return kMade;
}

std::string sealed(std::string bytes) {
  seal_compiled(bytes);
  return bytes;
}

CompiledFault fault_of(std::string bytes) { return CompiledFile(std::move(bytes)).fault(); }

TEST(CompiledRules, AllShippedRulesAreReadAsTheyWereWritten) {
  const CompiledBytes made = compiled("/rules");
  ASSERT_FALSE(made.bytes.empty());
  const CompiledFile file(made.bytes);
  ASSERT_EQ(file.fault(), CompiledFault::None);
  const auto program = file.program(re2_patterns(), kDay, true);
  ASSERT_NE(program, nullptr);
  EXPECT_EQ(engine::print(*program), engine::print(*made.loaded.program));
  EXPECT_EQ(program->hash, made.loaded.program->hash);
  EXPECT_EQ(program->examples.size(), made.loaded.program->examples.size());
  EXPECT_EQ(program->spellings.size(), made.loaded.program->spellings.size());
  EXPECT_EQ(program->look_back, made.loaded.program->look_back);
  EXPECT_EQ(program->history_fields, made.loaded.program->history_fields);
  for (std::size_t i = 0; i < engine::kFieldCount; ++i)
    EXPECT_EQ(program->vocabularies[i].size(), made.loaded.program->vocabularies[i].size());
}

/// Written again, field by field, it is the same to the byte.
TEST(CompiledRules, WhatWasReadIsWrittenAsTheSameBytes) {
  const CompiledBytes made = compiled("/rules");
  const CompiledFile file(made.bytes);
  const auto program = file.program(re2_patterns(), kDay, true);
  ASSERT_NE(program, nullptr);
  std::vector<std::string> patterns;
  (void)compile_rules({std::string(MENISCUS_SOURCE_DIR) + "/rules"},
                      [&](const std::string& text) {
                        patterns.push_back(text);
                        return re2_patterns()(text);
                      },
                      {});
  const auto again = write_compiled(file.origin(), *program, patterns);
  ASSERT_TRUE(again);
  EXPECT_TRUE(*again == made.bytes);
}

// How many members a struct has, found by what still initialises it.  A field that is added to one
// of these needs its place in transfer.hpp (or is worked out by finish_program()), and its count
// here.
struct Anything {
  template <class T>
  // NOLINTNEXTLINE(google-explicit-constructor): to fit every member
  operator T() const {
    return {};
  }
};
template <class T, class... Members>
constexpr std::size_t members() {
  if constexpr (requires { T{Members{}..., Anything{}}; }) {
    return members<T, Members..., Anything>();
  } else {
    return sizeof...(Members);
  }
}
static_assert(members<engine::Node>() == 11);  // 2 of them worked out
static_assert(members<engine::Value>() == 4);
static_assert(members<engine::Column>() == 4);
static_assert(members<engine::Table>() == 5);
static_assert(members<engine::LookUp>() == 10);  // 4 of them worked out
static_assert(members<engine::Query>() == 7);
static_assert(members<engine::Template::Piece>() == 3);
static_assert(members<engine::Clause>() == 6);
static_assert(members<engine::Without>() == 7);
static_assert(members<engine::Mute>() == 2);
static_assert(members<engine::Rule>() == 17);  // `history` is worked out
static_assert(members<engine::Setting>() == 10);
static_assert(members<engine::LocalChange>() == 10);
static_assert(members<engine::Example>() == 8);
static_assert(members<engine::Expectation>() == 3);
static_assert(members<engine::Spelling>() == 3);
static_assert(members<engine::Program>() == 31);  // 11 of them worked out

TEST(CompiledRules, CutAnywhereItIsDamaged) {
  const std::string& bytes = small().bytes;
  ASSERT_FALSE(bytes.empty());
  for (std::size_t size = 0; size < bytes.size(); ++size)
    ASSERT_EQ(fault_of(bytes.substr(0, size)), CompiledFault::Damaged) << size;
  EXPECT_EQ(fault_of(bytes + '\0'), CompiledFault::Damaged);
}

TEST(CompiledRules, EachByteThatIsAnotherIsFound) {
  std::string bytes = small().bytes;
  for (char& byte : bytes) {
    byte = static_cast<char>(byte ^ 0x10);
    ASSERT_EQ(fault_of(bytes), CompiledFault::Damaged);
    byte = static_cast<char>(byte ^ 0x10);
  }
  EXPECT_EQ(fault_of(bytes), CompiledFault::None);
}

/// Behind the check sum: what is cut or another there is refused or read, and does no harm.
TEST(CompiledRules, NoBytesDoHarm) {
  const std::string& bytes = small().bytes;
  std::size_t refused = 0;
  for (std::size_t size = 0; size < bytes.size(); ++size) {
    const CompiledFile file(sealed(bytes.substr(0, size)));
    refused += file.program(re2_patterns(), kDay, true) == nullptr ? 1 : 0;
  }
  EXPECT_EQ(refused, bytes.size());
  std::size_t read = 0;
  for (std::size_t at = 16; at < bytes.size(); ++at) {
    std::string other = bytes;
    other[at] = static_cast<char>(other[at] ^ 0xFF);
    const CompiledFile file(sealed(std::move(other)));
    const auto program = file.program(re2_patterns(), kDay, true);
    if (program != nullptr) read += engine::print(*program).empty() ? 0 : 1;
  }
  EXPECT_GT(read, 0U);            // a letter of a text
  EXPECT_LT(read, bytes.size());  // an index, a count, an enumerator
}

TEST(CompiledRules, AnotherBuildsFileIsNoDamage) {
  std::string bytes = small().bytes;
  constexpr std::size_t kFingerprint = 24;
  bytes[kFingerprint] = bytes[kFingerprint] == 'a' ? 'b' : 'a';
  EXPECT_EQ(fault_of(sealed(bytes)), CompiledFault::OtherBuild);
  bytes = small().bytes;
  bytes[16] = 2;  // the next version of the format
  EXPECT_EQ(fault_of(sealed(bytes)), CompiledFault::OtherBuild);
}

TEST(CompiledRules, AProgramOfOtherSourcesIsNotWritten) {
  CompiledOrigin origin;
  origin.rules.push_back({"other.rule", "", false});
  EXPECT_FALSE(write_compiled(origin, *small().loaded.program, {}));
}

TEST(CheckProgram, NodesThatRestOnThemselvesAreRefused) {
  engine::Program program;
  engine::Node node;
  node.op = engine::Op::Not;
  node.x = 0;
  program.nodes = {node};
  EXPECT_FALSE(holds_together(program));
  program.nodes[0].op = engine::Op::Today;
  program.nodes[0].x = engine::kNoNode;
  EXPECT_TRUE(holds_together(program));
  program.nodes.push_back(node);
  EXPECT_TRUE(holds_together(program));
  program.nodes[1].x = engine::kNoNode;  // `not` of nothing
  EXPECT_FALSE(holds_together(program));
}

TEST(CheckProgram, ARowHasTheColumnsThatItsConditionAsksFor) {
  engine::Program program;
  engine::Table table;
  table.columns.resize(2);
  table.cells.resize(2);
  table.lines.resize(1);
  program.tables = {table};
  engine::Node cell;
  cell.op = engine::Op::RowCell;
  cell.a = 1;
  program.nodes = {cell};
  engine::LookUp look_up;
  look_up.where = 0;
  program.lookups = {look_up};
  EXPECT_TRUE(holds_together(program));
  program.nodes[0].a = 2;
  EXPECT_FALSE(holds_together(program));
  program.nodes[0].a = engine::kNoNode;
  EXPECT_FALSE(holds_together(program));
}

TEST(Archive, ACountThatCannotBeIsRefusedBeforeMemoryIsTaken) {
  const std::string bytes = "\xFF\xFF\xFF\x7F" + std::string(100, '\0');
  ArchiveReader in(bytes);
  std::vector<std::uint64_t> values;
  in.list(values, 8, [&in](std::uint64_t& value) { in.number(value); });
  EXPECT_FALSE(in.good());
  EXPECT_TRUE(values.empty());
}

}  // namespace
}  // namespace meniscus::adapters
