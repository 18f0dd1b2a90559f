// Runs one rule over some lanes and collects what it found.  Shared by both evaluators: the columns
// run it over a block, the tree walk over one lane.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "engine/eval/blame.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

/// A clause that holds (without < 0), or a `without` that raises.
struct Hit {
  std::uint32_t rule = 0;
  std::int32_t clause = -1;
  std::int32_t without = -1;
  Lanes lanes = 0;
};

/// Something that a rule could not decide, and one cause of it.
struct Undecided {
  std::uint32_t rule = 0;
  bool grave = false;
  Cause cause;  // with its lanes
};

struct RunResult {
  std::vector<Hit> hits;
  std::vector<Undecided> undecided;
  std::vector<Lanes>* concerned = nullptr;  // by rule, where somebody counts; clear() leaves it
  void clear() {
    hits.clear();
    undecided.clear();
  }
};

/// Memory that runs use again.
struct RunScratch {
  Blame blame;
  Blame part;  // of one side of a condition
  std::vector<Lanes> undecided;
  std::vector<Lanes> fired;
  std::vector<Lanes> raised;
  std::vector<bool> answered;  // by cause: something answers for it

  /// The nodes of the program have changed.
  void forget() {
    blame.forget();
    part.forget();
  }
};

/// A derived field stands for what it is derived from.
inline FieldId blamed_field(std::uint32_t id) {
  const auto field = static_cast<FieldId>(id);
  return field == FieldId::PatientAge ? FieldId::PatientBorn : field;
}

/// Nor is any day carried that an age could be counted to.
inline bool carries_no_day(const FieldSet& never) {
  return never.test(index(FieldId::ScheduleStart)) && never.test(index(FieldId::OrderGiven)) &&
         never.test(index(FieldId::OrderPlaced));
}

template <class Access>
class RuleRun {
 public:
  RuleRun(const Program& program, Access& access, const FieldSet& never, RunScratch& scratch,
          RunResult& out)
      : program_(program),
        access_(access),
        never_(never),
        out_(out),
        blame_(scratch.blame),
        part_(scratch.part),
        undecided_(scratch.undecided),
        fired_(scratch.fired),
        raised_(scratch.raised),
        answered_(scratch.answered) {}

  void run(std::uint32_t number, Lanes lanes) {
    const Rule& rule = program_.rules[number];
    Lanes concerned = lanes;
    Lanes open = 0;
    if (rule.concerns != kNoNode) {
      open = access_.unknown(rule.concerns, lanes);
      concerned = access_.holds(rule.concerns, lanes);
    }
    if (out_.concerned != nullptr) (*out_.concerned)[number] |= concerned;
    if ((concerned | open) == 0) return;
    undecided_.assign(rule.clauses.size(), 0);
    fired_.assign(rule.clauses.size(), 0);
    raised_.assign(rule.withouts.size(), 0);
    if (open != 0) settle(number, rule.concerns, open, worst(rule) >= Grade::Clarify);
    Lanes rest = concerned;
    for (std::size_t i = 0; i < rule.clauses.size() && rest != 0; ++i) {
      const NodeId when = rule.clauses[i].when;
      fired_[i] = access_.holds(when, rest);
      undecided_[i] = access_.unknown(when, rest);
      if (fired_[i] != 0) {
        out_.hits.push_back({number, static_cast<std::int32_t>(i), -1, fired_[i]});
        rest &= ~fired_[i];
      }
    }
    settle_clauses(number, rule);
  }

 private:
  static Grade worst(const Rule& rule) {
    Grade grade = Grade::Note;
    for (const Clause& clause : rule.clauses)
      grade = std::max(grade, clause.grade);
    return grade;
  }

  /// A clause that stayed undecided counts where nothing at least as grave held.
  void settle_clauses(std::uint32_t number, const Rule& rule) {
    for (std::size_t i = 0; i < rule.clauses.size(); ++i) {
      Lanes open = undecided_[i];
      for (std::size_t k = 0; k < rule.clauses.size() && open != 0; ++k) {
        if (rule.clauses[k].grade >= rule.clauses[i].grade) open &= ~fired_[k];
      }
      if (open != 0) {
        settle(number, rule.clauses[i].when, open, rule.clauses[i].grade >= Grade::Clarify);
      }
    }
    for (std::size_t w = 0; w < raised_.size(); ++w) {
      if (raised_[w] != 0) {
        out_.hits.push_back({number, -1, static_cast<std::int32_t>(w), raised_[w]});
      }
    }
  }

  /// A derived age is not carried only when neither it nor the birth date is, or no day to count
  /// to.
  [[nodiscard]] bool never_carried(FieldId field) const {
    if (field == FieldId::PatientAge && !never_.test(index(field))) return false;
    if (field == FieldId::PatientAge && carries_no_day(never_)) return true;
    return never_.test(index(blamed_field(static_cast<std::uint32_t>(field))));
  }

  [[nodiscard]] static bool covers(const Without& without, const Cause& cause) {
    if (cause.kind == CauseKind::Setting) {
      return std::find(without.settings.begin(), without.settings.end(), cause.id) !=
             without.settings.end();
    }
    if (cause.kind != CauseKind::Field && cause.kind != CauseKind::EarlierField) return false;
    const FieldId blamed = blamed_field(cause.id);
    return std::any_of(without.fields.begin(), without.fields.end(), [&](FieldId field) {
      return field == static_cast<FieldId>(cause.id) || field == blamed;
    });
  }

  /// Answers by the rule's `without`s what is undecided in `open`; the rest is not assessed.
  void settle(std::uint32_t number, NodeId condition, Lanes open, bool grave) {
    const Rule& rule = program_.rules[number];
    blame_.clear();
    BlameWalk<Access>(program_, access_, blame_).condition(condition, open);
    const std::vector<Cause>& causes = blame_.causes();
    answered_.assign(causes.size(), false);
    Lanes never = 0;
    Lanes left = 0;  // of what nothing answers for
    for (std::size_t i = 0; i < causes.size(); ++i) {
      if (is_never_carried(causes[i])) never |= causes[i].lanes;
      answered_[i] = answers(rule, causes[i]);
      if (!answered_[i]) left |= causes[i].lanes;
    }
    Lanes answered = raise_without(rule, open, never) | never;
    const Lanes mixed = answered & left & open;
    if (mixed != 0) answered &= ~mixed | answered_for(rule, condition, mixed);
    open &= ~answered;
    for (std::size_t i = 0; i < causes.size(); ++i) {
      const Lanes lanes = causes[i].lanes & open;
      if (lanes == 0 || answered_[i]) continue;
      out_.undecided.push_back({number, grave, {causes[i].kind, causes[i].id, lanes}});
    }
  }

  /// Raises what the `without`s say of `open`; returns the lanes that one of them answers for.
  Lanes raise_without(const Rule& rule, Lanes open, Lanes never) {
    Lanes answered = 0;
    for (std::size_t w = 0; w < rule.withouts.size(); ++w) {
      Lanes now = 0;
      for (std::size_t i = 0; i < answered_.size(); ++i) {
        const Cause& cause = blame_.causes()[i];
        if (answered_[i] && covers(rule.withouts[w], cause)) now |= cause.lanes & open & ~answered;
      }
      if (!rule.withouts[w].ignore) raised_[w] |= now & ~never;
      answered |= now;
    }
    return answered;
  }

  [[nodiscard]] bool is_never_carried(const Cause& cause) const {
    return cause.kind == CauseKind::Field && never_carried(static_cast<FieldId>(cause.id));
  }

  [[nodiscard]] bool answers(const Rule& rule, const Cause& cause) const {
    if (is_never_carried(cause)) return true;
    return std::any_of(rule.withouts.begin(), rule.withouts.end(),
                       [&](const Without& without) { return covers(without, cause); });
  }

  /// The lanes of `lanes` in which a condition is open only for what a `without` answers for.  Of
  /// an `or` each open side must be: an absent side that is ignored says nothing about the other.
  Lanes answered_for(const Rule& rule, NodeId id, Lanes lanes, bool reversed = false) {
    lanes = access_.unknown(id, lanes);
    if (lanes == 0) return 0;
    const Node& node = program_.nodes[id];
    if (node.op == Op::Not) return answered_for(rule, node.x, lanes, !reversed);
    if (node.op == Op::And || node.op == Op::Or) {
      const Lanes x = access_.unknown(node.x, lanes);
      const Lanes y = access_.unknown(node.y, lanes);
      const Lanes of_x = answered_for(rule, node.x, x, reversed);
      const Lanes of_y = answered_for(rule, node.y, y, reversed);
      const bool either = (node.op == Op::Or) != reversed;  // `not (A and B)` is `not A or not B`
      return !either ? (of_x | of_y) : lanes & ~(x & ~of_x) & ~(y & ~of_y);
    }
    part_.clear();
    BlameWalk<Access>(program_, access_, part_).condition(id, lanes);
    Lanes answered = 0;
    for (const Cause& cause : part_.causes()) {
      if (answers(rule, cause)) answered |= cause.lanes;
    }
    return answered & lanes;
  }

  const Program& program_;
  Access& access_;
  const FieldSet& never_;
  RunResult& out_;
  Blame& blame_;
  Blame& part_;
  std::vector<Lanes>& undecided_;
  std::vector<Lanes>& fired_;
  std::vector<Lanes>& raised_;
  std::vector<bool>& answered_;
};

}  // namespace meniscus::engine
