// Contract: see plan.hpp.
#include "adapters/replay/plan.hpp"

#include <algorithm>

#include "engine/order/field.hpp"

namespace meniscus::adapters::replay {

namespace {
bool same_entries(const engine::Vocabulary& one, const engine::Vocabulary& other) {
  if (one.size() != other.size()) return false;
  return std::ranges::all_of(one.entries(), [&](const auto& entry) {
    const auto found = other.entries().find(entry.first);
    return found != other.entries().end() && found->second.word == entry.second.word &&
           found->second.name == entry.second.name;
  });
}

bool same_cell(const engine::Value& one, const engine::Value& other) {
  return one.state == other.state && one.number == other.number && one.text == other.text;
}

/// Readers ask the table of routes which of them are no injection.
bool same_routes(const engine::Program& one, const engine::Program& other) {
  const engine::Table* a = one.table("routes");
  const engine::Table* b = other.table("routes");
  if (a == nullptr || b == nullptr) return a == b;
  const auto same_name = [](const engine::Column& x, const engine::Column& y) {
    return x.name == y.name;
  };
  return std::ranges::equal(a->columns, b->columns, same_name) &&
         std::ranges::equal(a->cells, b->cells, same_cell) &&
         one.other_routes == other.other_routes;
}

std::uint32_t number_of(Plan& plan, const std::string& rule) {
  const auto found = std::ranges::find(plan.all_rules, rule);
  if (found != plan.all_rules.end())
    return static_cast<std::uint32_t>(found - plan.all_rules.begin());
  plan.all_rules.push_back(rule);
  return static_cast<std::uint32_t>(plan.all_rules.size() - 1);
}
}  // namespace

std::string_view built_in_rule(std::size_t number) {
  return number == 0 ? engine::kDoubtfulValue : engine::kInternal;
}

bool same_words(const engine::Program& one, const engine::Program& other) {
  for (const engine::FieldInfo& field : engine::fields()) {
    const std::size_t at = engine::index(field.id);
    if (!same_entries(one.vocabularies.at(at), other.vocabularies.at(at))) return false;
  }
  return same_routes(one, other);
}

void finish_plan(Plan& plan) {
  for (PlanSide& side : plan.sides) {
    for (const engine::Rule& rule : side.program->rules)
      side.shared_rule.push_back(number_of(plan, rule.name));
    for (std::size_t i = 0; i < kBuiltInRules; ++i)
      side.shared_rule.push_back(number_of(plan, std::string(built_in_rule(i))));
  }
  plan.words_differ =
      plan.sides.size() == 2 && !same_words(*plan.sides[0].program, *plan.sides[1].program);
}

}  // namespace meniscus::adapters::replay
