// Contract: compiled_rules.hpp.
#include "adapters/compiled/compiled_rules.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <utility>

#include "adapters/compiled/archive.hpp"
#include "adapters/compiled/check_program.hpp"
#include "adapters/compiled/fingerprint.hpp"
#include "adapters/compiled/transfer.hpp"

namespace meniscus::adapters {
namespace {

constexpr std::string_view kMagic = "MNSRULES";
constexpr std::size_t kSumAt = 8;
constexpr std::size_t kSummedAt = 16;
constexpr std::uint32_t kVersion = 1;
constexpr std::size_t kLeastSource = 8;  // two empty texts

/// Eight bytes, the first one lowest; what is missing of them is zero.
std::uint64_t word_at(std::string_view bytes) {
  std::array<char, 8> eight{};
  bytes.copy(eight.data(), eight.size());
  auto word = std::bit_cast<std::uint64_t>(eight);
  if constexpr (std::endian::native == std::endian::big) {
    std::reverse(eight.begin(), eight.end());
    word = std::bit_cast<std::uint64_t>(eight);
  }
  return word;
}

/// Each step is a bijection of the sum and of the word, so two texts of one length that differ
/// within one word of eight bytes never have the same sum.
std::uint64_t sum_of(std::string_view bytes) {
  constexpr std::uint64_t kFactor = 0x9E3779B97F4A7C15U;  // odd: 2^64 over the golden ratio
  std::uint64_t sum = bytes.size();
  const auto add = [&](std::uint64_t word) {
    sum = (sum ^ word) * kFactor;
    sum ^= sum >> 32U;
  };
  for (; bytes.size() >= 8; bytes.remove_prefix(8))
    add(word_at(bytes.substr(0, 8)));
  if (!bytes.empty()) add(word_at(bytes));
  return sum;
}

template <class A, class M>
void transfer_source(A& a, M& source) {
  a.flag(source.shipped);
  a.text(source.name);
  a.text(source.text);
}

template <class A, class M>
void transfer_origin(A& a, M& origin) {
  a.number(origin.first_day);
  a.number(origin.last_day);
  a.flag(origin.allow_mute_hold);
  a.list(origin.rules, kLeastSource, [&a](auto& x) { transfer_source(a, x); });
  a.list(origin.tables, kLeastSource, [&a](auto& x) { transfer_source(a, x); });
}

bool is_of(const engine::Program& program, const CompiledOrigin& origin) {
  return std::ranges::equal(program.sources, origin.rules, [](const auto& own, const auto& named) {
    return own != nullptr && own->name() == named.name && own->text() == named.text;
  });
}

}  // namespace

void seal_compiled(std::string& bytes) {
  if (bytes.size() < kSummedAt) return;
  ArchiveWriter sum;
  sum.number(sum_of(std::string_view(bytes).substr(kSummedAt)));
  bytes.replace(kSumAt, kSummedAt - kSumAt, sum.take());
}

engine::Result<std::string> write_compiled(const CompiledOrigin& origin,
                                           const engine::Program& program,
                                           const std::vector<std::string>& patterns) {
  if (!is_of(program, origin) || patterns.size() != program.patterns.size())
    return engine::Error{engine::Errc::Internal, "the program is not of these sources", 0, 0};
  ArchiveWriter out;
  out.number(kVersion);
  out.text(build_fingerprint());
  transfer_origin(out, origin);
  out.list(patterns, 4, [&out](const std::string& text) { out.text(text); });
  transfer::program(out, program);
  transfer::examples(out, program.examples);
  std::string bytes(kMagic);
  bytes.append(kSummedAt - kSumAt, '\0');
  bytes += out.take();
  seal_compiled(bytes);
  return bytes;
}

CompiledFile::CompiledFile(std::string bytes)
    : bytes_(std::make_shared<const std::string>(std::move(bytes))) {
  const std::string_view all = *bytes_;
  if (!all.starts_with(kMagic) || all.size() < kSummedAt) return;
  const std::string_view summed = all.substr(kSummedAt);
  if (word_at(all.substr(kSumAt, kSummedAt - kSumAt)) != sum_of(summed)) return;
  ArchiveReader in(summed);
  std::uint32_t version = 0;
  std::string_view fingerprint;
  in.number(version);
  in.text(fingerprint);
  if (!in.good()) return;
  if (version != kVersion || fingerprint != build_fingerprint()) {
    fault_ = CompiledFault::OtherBuild;
    return;
  }
  transfer_origin(in, origin_);
  if (!in.good()) return;
  program_at_ = all.size() - in.left().size();
  fault_ = CompiledFault::None;
}

std::shared_ptr<const engine::Program> CompiledFile::program(
    const engine::PatternCompiler& patterns, std::int64_t rules_day, bool examples) const {
  if (fault_ != CompiledFault::None) return nullptr;
  ArchiveReader in(std::string_view(*bytes_).substr(program_at_));
  auto program = std::make_shared<engine::Program>();
  program->texts.push_back(bytes_);
  std::vector<std::string> texts;
  in.list(texts, 4, [&in](std::string& text) { in.text(text); });
  for (const std::string& text : texts) {
    auto pattern = patterns(text);
    if (!pattern) return nullptr;
    program->patterns.push_back(*std::move(pattern));
  }
  for (const CompiledSource& source : origin_.rules) {
    program->sources.push_back(std::make_shared<const engine::SourceText>(
        std::string(source.name), std::string(source.text)));
  }
  transfer::program(in, *program);
  if (examples) transfer::examples(in, program->examples);
  if (!in.good() || (examples && !in.left().empty()) || !holds_together(*program)) return nullptr;
  program->rules_day = rules_day;
  engine::finish_program(*program);
  return program;
}

}  // namespace meniscus::adapters
