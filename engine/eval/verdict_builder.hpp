// From what the rules found in one lane to its verdict: texts, groups, what was not assessed.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "engine/answers/answer_finder.hpp"
#include "engine/eval/rule_run.hpp"
#include "engine/eval/say.hpp"
#include "engine/eval/scalar.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::engine {

struct CheckOptions;

class VerdictBuilder {
 public:
  VerdictBuilder(const Program& program, const CheckOptions& options);

  /// `scalar` stands at the lane.  `judged`: rules ran for it.  `columns`: ran them; null where the
  /// tree walk did.
  void build(Scalar& scalar, Columns* columns, std::array<const RunResult*, 2> results, bool judged,
             Verdict& out);

 private:
  void head(const Scalar& scalar, Verdict& out) const;
  void add_hits(Scalar& scalar, const RunResult& result, Verdict& out);
  void add_finding(Scalar& scalar, const Hit& hit, Verdict& out) const;
  void answer(Scalar& scalar, const RunResult& result, const Hit& hit, Verdict& out);
  [[nodiscard]] const LocalChange* muted_by(Scalar& scalar, const Rule& rule, Grade grade) const;
  bool hide(Scalar& scalar, const Rule& rule, const Hit& hit, Verdict& out) const;
  void add_undecided(Scalar& scalar, const RunResult& result, Verdict& out);
  std::size_t line_for(Scalar& scalar, const Cause& cause, Verdict& out);
  void add_doubts(const Scalar& scalar, Verdict& out) const;
  void add_given_ahead(const Scalar& scalar, Verdict& out) const;
  void add_unreadable(const Scalar& scalar, Verdict& out) const;
  void add_field(const Scalar& scalar, FieldId field, Finding& finding) const;
  void name_cause(Scalar& scalar, const Cause& cause, std::string& out) const;
  void find_roots(const Verdict& out);
  void group(Verdict& out);
  static void grade(bool judged, Verdict& out);

  /// A cause of this verdict's lines.
  struct Named {
    CauseKind kind{};
    std::uint32_t id = 0;
    std::size_t line = 0;
  };

  const Program& program_;
  const CheckOptions& options_;
  AnswerFinder answers_;
  ShownNumbers numbers_;
  SayHelp help_;
  std::string text_;
  std::vector<Named> named_;
  std::vector<std::uint16_t> root_;
  std::vector<Grade> worst_;
};

}  // namespace meniscus::engine
