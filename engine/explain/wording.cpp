// Names, texts and places of nodes (contract: wording.hpp).
#include "engine/explain/wording.hpp"

#include <algorithm>

#include "engine/base/one_line.hpp"
#include "engine/eval/say.hpp"

namespace meniscus::engine {
namespace {

bool stands_in(const Program& program, const Rule& rule, const Spelling& spelling) {
  const SourceText& source = *program.sources[spelling.source];
  if (source.name() != rule.file) return false;
  const std::uint32_t begin = source.line_start(rule.line);
  return spelling.span.begin >= begin && spelling.span.end <= begin + rule.text.size();
}

std::string_view named(const std::vector<std::pair<std::string, NodeId>>& names, NodeId node) {
  const auto at = std::find_if(names.begin(), names.end(),
                               [&](const auto& each) { return each.second == node; });
  return at == names.end() ? std::string_view{} : std::string_view(at->first);
}

}  // namespace

const Spelling* Wording::find(const Rule& rule, NodeId node) const {
  const auto first = std::lower_bound(program_.spellings.begin(), program_.spellings.end(), node,
                                      [](const Spelling& s, NodeId id) { return s.node < id; });
  const Spelling* best = nullptr;
  for (auto at = first; at != program_.spellings.end() && at->node == node; ++at) {
    if (stands_in(program_, rule, *at)) return &*at;
    if (best == nullptr) best = &*at;
  }
  return best;
}

std::string Wording::text(const Rule& rule, NodeId node) const {
  const Spelling* spelling = find(rule, node);
  if (spelling == nullptr) return {};
  return on_one_line(program_.sources[spelling->source]->slice(spelling->span));
}

std::string_view Wording::name(const Rule& rule, NodeId node) const {
  const Node& n = program_.nodes[node];
  if (n.op == Op::Field) return info(static_cast<FieldId>(n.a)).name;
  if (n.op == Op::Setting) return program_.settings[n.a].name;
  const std::string_view let = named(rule.lets, node);
  return let.empty() ? named(program_.defines, node) : let;
}

RulePlace Wording::place(const Rule& rule, NodeId node) const {
  const Spelling* spelling = find(rule, node);
  if (spelling == nullptr) return {};
  const SourceText& source = *program_.sources[spelling->source];
  return {source.name(), source.locate(spelling->span.begin)};
}

std::string value_text(Scalar& scalar, NodeId node) {
  const Node& n = scalar.program().nodes[node];
  const Value value = scalar.value(node);
  const OrderFacts& facts = scalar.facts();
  if (n.op == Op::Field && value.known()) {
    const std::string_view written = facts.block->written(facts.lane, static_cast<FieldId>(n.a));
    if (!written.empty() && written.front() != '{') return std::string(written);
  }
  const bool as_it_stands = n.type == Type::Quantity || n.type == Type::Band;
  if (as_it_stands && value.known() && !value.text.empty()) return std::string(value.text);
  return show(scalar, n, value);
}

}  // namespace meniscus::engine
