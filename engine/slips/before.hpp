// What the rules said of an order as it stands, and which of it a slip is to clear.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/eval/rule_run.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::engine::slips {

/// A rule with a finding of `clarify` or `hold`, and the place of its group among such groups.
struct Grave {
  std::uint32_t rule = 0;
  std::uint32_t group = 0;
};

class Before {
 public:
  static constexpr std::uint32_t kMostGroups = 32;  // later groups get no slips

  /// Reads what stands in `lane` of the results.
  void read(const Program& program, unsigned lane, std::array<const RunResult*, 2> results,
            const Verdict& verdict);

  [[nodiscard]] std::span<const Grave> graves() const { return graves_; }
  [[nodiscard]] std::uint32_t groups() const { return groups_; }
  /// Conditions of the clauses that gave them.
  [[nodiscard]] std::span<const NodeId> conditions() const { return conditions_; }
  [[nodiscard]] bool is_grave(std::uint32_t rule) const;
  /// A field that a grave finding of one of these groups blames.
  [[nodiscard]] bool blames(FieldId field, std::uint32_t groups) const;
  /// How far down the findings name it: a rule blames the likeliest field first.
  [[nodiscard]] std::size_t place(FieldId field) const;

  [[nodiscard]] bool had(const Hit& hit) const;
  [[nodiscard]] bool had(const Undecided& undecided) const;

 private:
  void read_groups(const Program& program, const Verdict& verdict);
  void add_grave(const Program& program, const Finding& finding, std::uint32_t group);

  std::vector<Grave> graves_;
  std::uint32_t groups_ = 0;
  std::array<FieldSet, kMostGroups> blamed_;
  std::vector<FieldId> blamed_in_order_;
  std::vector<NodeId> conditions_;
  std::vector<Hit> hits_;
  std::vector<Undecided> undecided_;
};

}  // namespace meniscus::engine::slips
