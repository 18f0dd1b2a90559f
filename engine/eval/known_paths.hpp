// How a rule that depends on days, ages or records came to what it came to, question by question:
// where the next order of the same key (order_keys.hpp) answers alike, it comes to the same.
//
//   if (const Lanes left = lanes & ~paths.follow(order, rule, lanes, result); left != 0)
//     paths.run(order, rule, left, result);   // and notes what was asked
//
// Path:    what a rule asks of an order that could be answered otherwise for another one of its key
//          (variation.hpp): whether a comparison with today holds, whether a record is missing.
//          What a rule does is settled by these answers; logic, causes and `without`s are not gone
//          through again.
// Shape:   a tree for an order's key and rule, a question a node, a branch an answer.
// For:     few lanes, or many of few keys; over many of many, running a rule costs less than its
//          lanes' paths.
// Bounded: kMostQuestions in all, then all are forgotten; kMostPaths of one key and rule, then what
//          goes another one is run without being noted, which costs less.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "engine/base/flat_map.hpp"
#include "engine/eval/access.hpp"
#include "engine/eval/rule_run.hpp"
#include "engine/eval/variation.hpp"

namespace meniscus::engine {

class KnownPaths {
 public:
  /// The arguments must outlive this.
  KnownPaths(const Program& program, Columns& columns, Variation& variation, const FieldSet& never,
             RunScratch& scratch);

  void begin(const OrderBlock& block);

  /// Adds what is known for `lanes`, which are of one key (`order` stands for it); returns those of
  /// which it is.  `all`: lanes that will be asked for as well, of this key and of others.
  Lanes follow(std::uint32_t order, std::uint32_t rule, Lanes lanes, Lanes all, RunResult& out);

  /// Runs `rule`; lane by lane where it is noted.
  void run(std::uint32_t order, std::uint32_t rule, Lanes lanes, RunResult& out);

  void forget();

 private:
  static constexpr std::size_t kMostQuestions = std::size_t{1} << 15U;
  static constexpr std::uint32_t kMostPaths = 64;

  struct Question {
    enum class Kind : std::uint8_t { Truth, State, NoWord, BeforeHistory };
    std::uint32_t id = 0;  // node; of BeforeHistory, query
    Kind kind{};
    friend bool operator==(const Question&, const Question&) = default;
  };
  struct Step {
    Question question;
    std::uint8_t answer = 0;
  };
  /// 0: nobody came here; 2 * i + 2: questions_[i]; 2 * i + 1: outcomes_[i].
  using Link = std::uint32_t;
  struct Asked {
    Question question;
    std::array<Link, 4> next{};  // by answer
  };
  struct Root {
    Link link = 0;
    std::uint32_t paths = 0;
  };
  struct Outcome {
    std::uint32_t first_hit = 0;
    std::uint32_t hits = 0;
    std::uint32_t first_undecided = 0;
    std::uint32_t undecided = 0;
    bool concerned = false;
  };

  class Noting;
  using ByAnswer = std::array<Lanes, 4>;
  ByAnswer ask(const Question& question, Lanes lanes);
  Lanes walk(Link link, std::uint32_t rule, Lanes lanes, Lanes all, RunResult& out);
  void add(std::uint32_t rule, const Outcome& outcome, Lanes lanes, RunResult& out) const;
  void note(std::uint32_t rule, unsigned lane, Root& root, RunResult& out);
  void keep(Root& root, const Outcome& outcome);

  static std::uint64_t key_of(std::uint32_t order, std::uint32_t rule) {
    return (std::uint64_t{order} << 32U | rule) + 1;
  }

  const Program& program_;
  Columns& columns_;
  Variation& variation_;
  const FieldSet& never_;
  RunScratch& scratch_;
  const OrderBlock* block_ = nullptr;
  FlatMap<Root> roots_;  // by order and rule
  std::vector<Asked> questions_;
  std::vector<Outcome> outcomes_;
  std::vector<Hit> hits_;
  std::vector<Undecided> undecided_;
  std::vector<Step> path_;  // of the run at hand
};

}  // namespace meniscus::engine
