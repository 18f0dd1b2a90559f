// Judges orders against a program: the engine's one entry.
//
//   Checker checker(program, options);
//   History history(program->look_back, program->history_fields, program->history_written);
//   while (source.next(block))
//     checker.check(block, history, [&](const Verdict& v) { sink.write(v, block, source); });
//
// Pure:     no I/O, no globals, no clock (the host says which day today is).
// Same:     one order at a time and over columns give the same verdicts.
// Memory:   everything that it needs for a block is kept and reused.
// Threads:  one Checker a thread; the Program is shared.  A History is one thread's at a time.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "engine/answers/answer.hpp"
#include "engine/history/history.hpp"
#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::engine {

enum class Mode : std::uint8_t {
  Columns,  // rules without history run over the whole block
  OneByOne  // every rule, order by order
};

struct Days;  // engine/eval/facts.hpp

struct CheckOptions {
  std::int64_t today = 0;             // days since 1970-01-01: the host's date
  std::optional<std::int64_t> as_of;  // overrides every order's own date
  FieldSet never_carries;             // by profile and format: make nothing incomplete
  HistoryScope history = HistoryScope::Input;
  Mode mode = Mode::Columns;
  bool slips = true;                 // look for what may have been meant (engine/slips)
  const Answers* answers = nullptr;  // to questions; the host's, and outlives the Checker
};

class Checker {
 public:
  Checker(std::shared_ptr<const Program> program, const CheckOptions& options);
  ~Checker();
  Checker(Checker&&) noexcept;
  Checker& operator=(Checker&&) noexcept;
  Checker(const Checker&) = delete;
  Checker& operator=(const Checker&) = delete;

  using Report = std::function<void(const Verdict&)>;

  /// The days of the blocks from the next one on, instead of those of the options.
  void set_days(const Days& days);

  /// Judges the lanes of `block` in order, adding each to `history`, and reports one verdict a
  /// lane. Each order is judged on what stood in history before it.
  void check(const OrderBlock& block, History& history, const Report& report);

  /// The two halves of check(), for hosts whose threads each have a Checker and share one History:
  /// begin() does what needs no history, at the same time as others'; finish() is called for the
  /// blocks in their order, one at a time.  The block stays as it is in between.
  void begin(const OrderBlock& block);
  void finish(History& history, const Report& report);

  /// Adds the lanes of `block` to `history` without judging them: what a store has kept.
  void remember(const OrderBlock& block, History& history);

  /// From now on concerned() is kept: for statistics.
  void count_concerned();
  /// By rule of the program: the judged lanes of the last block that it was about (`concerns`).
  [[nodiscard]] std::span<const Lanes> concerned() const;

  /// What the feed can never answer: by field, the rules that need it.  Said once a run.
  [[nodiscard]] std::vector<NotAssessed> never_assessed() const;

 private:
  class Work;
  std::unique_ptr<Work> work_;
};

}  // namespace meniscus::engine
