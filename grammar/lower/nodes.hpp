// The nodes of a program as they are made: equal expressions become one node.
//
// Beside each engine::Node this keeps what only the compiler needs: the set of dimensions that the
// node may have, and where its words come from.
#pragma once

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "engine/program/program.hpp"
#include "grammar/check/dimension_set.hpp"

namespace meniscus::grammar {

using engine::kNoNode;
using engine::NodeId;
using engine::Op;
using engine::Type;

/// What a node is made of.  `origin`: the table of a RowCell, the field whose list an ItemSelf
/// belongs to; 0 otherwise.
struct NodeSpec {
  Op op{};
  Type type{};
  std::uint32_t a = 0;
  NodeId x = kNoNode;
  NodeId y = kNoNode;
  NodeId z = kNoNode;
  bool percent = false;
  std::uint32_t origin = 0;
};

class Nodes {
 public:
  explicit Nodes(engine::Program& program) : program_(program) {}

  NodeId add(const NodeSpec& spec, const DimensionSet& dimensions = {});
  /// A condition over up to three nodes.
  NodeId truth(Op op, NodeId x, NodeId y = kNoNode, NodeId z = kNoNode, std::uint32_t a = 0) {
    return add({op, Type::Truth, a, x, y, z});
  }
  /// `value.text` must live as long as the program (Program::keep).
  NodeId constant(Type type, const engine::Value& value, bool percent = false);
  NodeId quantity(double value, engine::Dimension dimension, std::string_view text,
                  bool percent = false);

  [[nodiscard]] const engine::Node& operator[](NodeId node) const { return program_.nodes[node]; }
  [[nodiscard]] Type type(NodeId node) const { return program_.nodes[node].type; }
  [[nodiscard]] const DimensionSet& dimensions(NodeId node) const {
    return sides_[node].dimensions;
  }
  [[nodiscard]] std::uint32_t origin(NodeId node) const { return sides_[node].origin; }

 private:
  struct Side {
    DimensionSet dimensions;
    std::uint32_t origin = 0;
  };
  struct Key {
    engine::Node node;
    std::uint32_t origin = 0;
    bool operator==(const Key& other) const;
  };
  struct KeyHash {
    std::size_t operator()(const Key& key) const;
  };

  engine::Program& program_;
  std::vector<Side> sides_;
  std::unordered_map<Key, NodeId, KeyHash> known_;
};

}  // namespace meniscus::grammar
