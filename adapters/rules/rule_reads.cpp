// Contract: see rule_reads.hpp.
#include "adapters/rules/rule_reads.hpp"

#include "engine/program/node_walk.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

namespace {
using engine::NodeId;
using engine::Op;
using engine::Program;

std::string number_text(const engine::Setting& setting, double number) {
  if (setting.percent) return engine::format_number(number * 100) + " %";
  if (setting.dimension.is_number()) return engine::format_number(number);
  return engine::format_quantity({number, setting.dimension});
}
}  // namespace

RuleReads reads_of(const Program& program, const engine::Rule& rule) {
  RuleReads reads;
  engine::NodeWalk walk(program);
  const auto visit = [&](NodeId /*id*/, const engine::Node& node) {
    if (node.op == Op::Setting) reads.settings.insert(node.a);
    if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
      reads.tables.insert(program.lookups[node.a].table);
    }
  };
  walk.from(rule.concerns, visit);
  for (const engine::Clause& clause : rule.clauses) {
    walk.from(clause.when, visit);
    for (const engine::Template* text : {&clause.say, &clause.ask}) {
      for (const auto& piece : text->pieces)
        walk.from(piece.node, visit);
    }
  }
  for (const engine::Without& without : rule.withouts) {
    reads.settings.insert(without.settings.begin(), without.settings.end());
  }
  return reads;
}

std::string setting_text(const engine::Setting& setting) {
  if (!setting.value.known()) return "unset";
  // A needle's length is read in the unit of its label.
  const bool own_unit = setting.dimension == engine::dim::kLength;
  if (setting.type == engine::Type::Quantity && !own_unit) {
    return number_text(setting, setting.value.number);
  }
  return std::string(setting.value.text);
}

std::string range_text(const engine::Setting& setting, std::string_view link) {
  if (!setting.least || !setting.most) return {};
  const auto limit = [&](const std::string& written, double number) {
    return setting.dimension == engine::dim::kLength ? written : number_text(setting, number);
  };
  std::string text = limit(setting.least_text, *setting.least);
  text += link;
  return text += limit(setting.most_text, *setting.most);
}

}  // namespace meniscus::adapters
