// Contract: see rule_reads.hpp.
#include "adapters/rules/rule_reads.hpp"

#include <utility>
#include <vector>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

namespace {
using engine::kNoNode;
using engine::NodeId;
using engine::Op;
using engine::Program;

class Visit {
 public:
  explicit Visit(const Program& program) : program_(program) {}

  RuleReads operator()(const engine::Rule& rule) {
    visit(rule.concerns);
    for (const engine::Clause& clause : rule.clauses) {
      visit(clause.when);
      visit(clause.say);
      visit(clause.ask);
    }
    for (const engine::Without& without : rule.withouts) {
      reads_.settings.insert(without.settings.begin(), without.settings.end());
    }
    return std::move(reads_);
  }

 private:
  void visit(const engine::Template& text) {
    for (const auto& piece : text.pieces)
      visit(piece.node);
  }

  void visit(NodeId first) {
    std::vector<NodeId> open{first};
    while (!open.empty()) {
      const NodeId id = open.back();
      open.pop_back();
      if (id == kNoNode || !seen_.insert(id).second) continue;
      const engine::Node& node = program_.nodes[id];
      if (node.op == Op::Setting) reads_.settings.insert(node.a);
      open.insert(open.end(), {node.x, node.y, node.z});
      if (node.op == Op::IsOneOf) {
        const auto& list = program_.lists[node.a];
        open.insert(open.end(), list.begin(), list.end());
      } else if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
        const engine::LookUp& lookup = program_.lookups[node.a];
        reads_.tables.insert(lookup.table);
        open.insert(open.end(), {lookup.where, lookup.otherwise});
      } else if (node.op == Op::Query) {
        const engine::Query& query = program_.queries[node.a];
        open.insert(open.end(), {query.where, query.value, query.list});
      }
    }
  }

  const Program& program_;
  RuleReads reads_;
  std::set<NodeId> seen_;
};

std::string number_text(const engine::Setting& setting, double number) {
  if (setting.percent) return engine::format_number(number * 100) + " %";
  if (setting.dimension.is_number()) return engine::format_number(number);
  return engine::format_quantity({number, setting.dimension});
}
}  // namespace

RuleReads reads_of(const Program& program, const engine::Rule& rule) {
  return Visit(program)(rule);
}

std::string setting_text(const engine::Setting& setting) {
  if (!setting.value.known()) return "unset";
  if (setting.type == engine::Type::Quantity) return number_text(setting, setting.value.number);
  if (setting.type == engine::Type::Date) {
    return engine::format_date(engine::unpack(setting.value.number, setting.value.aux));
  }
  return std::string(setting.value.text);
}

std::string range_text(const engine::Setting& setting, std::string_view link) {
  if (!setting.least || !setting.most) return {};
  std::string text = number_text(setting, *setting.least);
  text += link;
  return text += number_text(setting, *setting.most);
}

}  // namespace meniscus::adapters
