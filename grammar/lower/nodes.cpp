// Hash-consing: one node for equal operation, operands and immediate.
#include "grammar/lower/nodes.hpp"

#include <algorithm>
#include <bit>
#include <string>
#include <tuple>

namespace meniscus::grammar {
namespace {

using engine::Value;

auto parts(const engine::Node& n) {
  return std::tuple(n.op, n.type, n.varies, n.percent, n.dimension.bits(), n.a, n.x, n.y, n.z);
}

void mix(std::size_t& hash, std::uint64_t value) {
  hash ^= value + 0x9e3779b97f4a7c15U + (hash << 6U) + (hash >> 2U);
}

bool same(const Value& a, const Value& b) {
  return std::bit_cast<std::uint64_t>(a.number) == std::bit_cast<std::uint64_t>(b.number) &&
         a.aux == b.aux && a.state == b.state && a.text == b.text;
}

}  // namespace

bool Nodes::Key::operator==(const Key& other) const {
  return origin == other.origin && parts(node) == parts(other.node);
}

std::size_t Nodes::KeyHash::operator()(const Key& key) const {
  std::size_t hash = key.origin;
  const engine::Node& n = key.node;
  mix(hash, static_cast<std::uint64_t>(n.op) << 8U | static_cast<std::uint64_t>(n.type));
  mix(hash, n.a);
  mix(hash, n.x);
  mix(hash, n.y);
  mix(hash, n.z);
  return hash;
}

NodeId Nodes::add(const NodeSpec& spec, const DimensionSet& dimensions) {
  Key key;
  key.node.op = spec.op;
  key.node.type = spec.type;
  key.node.percent = spec.percent;
  key.node.a = spec.a;
  key.node.x = spec.x;
  key.node.y = spec.y;
  key.node.z = spec.z;
  key.origin = spec.origin;
  if (dimensions.is_single()) {
    key.node.dimension = dimensions.front();
  } else {
    key.node.varies = spec.type == Type::Quantity;
  }
  const auto next = static_cast<NodeId>(program_.nodes.size());
  const auto [at, is_new] = known_.emplace(key, next);
  if (is_new) {
    program_.nodes.push_back(key.node);
    sides_.push_back({dimensions, spec.origin});
  }
  return at->second;
}

NodeId Nodes::constant(Type type, const Value& value, bool percent) {
  const auto at = std::find_if(program_.constants.begin(), program_.constants.end(),
                               [&](const Value& each) { return same(each, value); });
  const auto index = static_cast<std::uint32_t>(at - program_.constants.begin());
  if (at == program_.constants.end()) {
    program_.constants.push_back(value);
    program_.constants.back().text = program_.keep(std::string(value.text));
  }
  NodeSpec spec{Op::Constant, type, index};
  spec.percent = percent;
  const bool quantity = type == Type::Quantity;
  return add(spec,
             quantity ? DimensionSet(engine::Dimension::from_bits(value.aux)) : DimensionSet());
}

NodeId Nodes::quantity(double value, engine::Dimension dimension, std::string_view text,
                       bool percent) {
  Value constant = Value::quantity(value, dimension);
  constant.text = text;
  return this->constant(Type::Quantity, constant, percent);
}

}  // namespace meniscus::grammar
