// Why something could not be decided: the fields, settings, table rows and words that are missing.
//
// Shape:   one walk serves columns and single orders: it asks an Access for masks of lanes (a
// single
//          order is lane 0) and hands what it finds to a Blame.
// Access:  Lanes unknown(NodeId, Lanes)  a condition is unknown
//          Lanes holds(NodeId, Lanes)    a condition holds
//          Lanes missing(NodeId, Lanes)  a value is missing
//          Lanes no_word(NodeId, Lanes)  a value is a word that no row knows
//          Lanes absent(FieldId, Lanes)  a field of the order is missing
//          Lanes before_history(Query, Lanes)  the query looks further back than history is known
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::engine {

enum class CauseKind : std::uint8_t {
  Field,         // id: FieldId; not there
  UnknownWord,   // id: FieldId; a word that no row knows
  EarlierField,  // id: FieldId of an earlier order or injection
  HistoryStart,  // a rule looks further back than history is known
  Setting,       // id: unset setting
  Row,           // id: look-up without a row for its key
  Kinds,         // id: node whose operands are of unlike kinds (a mass and units)
  Engine         // id: EngineValue whose tables have no row
};

struct Cause {
  CauseKind kind{};
  std::uint32_t id = 0;
  Lanes lanes = 0;
};

/// By condition over rows, items or records: the nodes outside of them that it reads, each once.
/// Found by a walk when they are asked for first.
class OuterNodes {
 public:
  const std::vector<NodeId>& of(const Program& program, NodeId condition) {
    if (lists_.size() < program.nodes.size()) lists_.resize(program.nodes.size());
    List& list = lists_[condition];
    if (!list.known) walk(program, condition, list.nodes);
    list.known = true;
    return list.nodes;
  }

 private:
  struct List {
    bool known = false;
    std::vector<NodeId> nodes;
  };

  static void walk(const Program& program, NodeId id, std::vector<NodeId>& out) {
    if (id == kNoNode) return;
    const Node& node = program.nodes[id];
    if (!node.scoped) {
      const bool always_there = node.op == Op::Constant && node.type != Type::Word;
      if (!always_there && std::find(out.begin(), out.end(), id) == out.end()) out.push_back(id);
      return;
    }
    for (const NodeId child : {node.x, node.y, node.z})
      walk(program, child, out);
    if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow)
      walk(program, program.lookups[node.a].where, out);
  }

  std::vector<List> lists_;  // by node
};

/// What was found, each cause once with its lanes.  Kept and reused; of one program.
class Blame {
 public:
  void clear() { causes_.clear(); }
  /// The nodes of the program have changed.
  void forget() { outer_nodes_ = {}; }
  void add(CauseKind kind, std::uint32_t id, Lanes lanes) {
    if (lanes == 0) return;
    for (Cause& cause : causes_) {
      if (cause.kind == kind && cause.id == id) {
        cause.lanes |= lanes;
        return;
      }
    }
    causes_.push_back({kind, id, lanes});
  }
  [[nodiscard]] const std::vector<Cause>& causes() const { return causes_; }
  OuterNodes& outer_nodes() { return outer_nodes_; }

 private:
  std::vector<Cause> causes_;
  OuterNodes outer_nodes_;
};

template <class Access>
class BlameWalk {
 public:
  BlameWalk(const Program& program, Access& access, Blame& blame)
      : program_(program), access_(access), blame_(blame) {}

  /// Why condition `id` is unknown in `lanes`.
  void condition(NodeId id, Lanes lanes) {
    lanes = access_.unknown(id, lanes);
    if (lanes == 0) return;
    const Node& node = program_.nodes[id];
    switch (node.op) {
      case Op::Not:
        return condition(node.x, lanes);
      case Op::And:
      case Op::Or:
        condition(node.x, lanes);
        return condition(node.y, lanes);
      case Op::IsOneOf:
        return operands(id, {node.x}, lanes);
      case Op::AnyRow:
        return look_up(node.a, lanes);
      case Op::AnyItem:
        return list_condition(node, lanes);
      default:
        return operands(id, {node.x, node.y, node.z}, lanes);
    }
  }

  /// Why value `id` is missing in `lanes`.
  void value(NodeId id, Lanes lanes) {
    if (lanes == 0) return;
    const Node& node = program_.nodes[id];
    switch (node.op) {
      case Op::Field:
      case Op::Written:
        return blame_.add(CauseKind::Field, node.a, lanes);
      case Op::Setting:
        return blame_.add(CauseKind::Setting, node.a, lanes);
      case Op::OrElse: {
        const Lanes first = access_.missing(node.x, lanes);
        value(node.x, first);
        return value(node.y, lanes & ~first);
      }
      case Op::Choose: {
        const Lanes open = access_.unknown(node.x, lanes);
        const Lanes yes = access_.holds(node.x, lanes & ~open);
        condition(node.x, open);
        value(node.y, yes);
        return value(node.z, lanes & ~open & ~yes);
      }
      case Op::LookUp:
      case Op::LookUpEvery:
        return look_up(node.a, lanes);
      case Op::Query:
        return query(program_.queries[node.a], lanes);
      case Op::Engine:
        return engine(node.a, lanes);
      case Op::RecordField:
      case Op::RecordWritten:
      case Op::RecordWhen: {
        const Lanes first = access_.missing(node.x, lanes);
        value(node.x, first);
        return blame_.add(CauseKind::EarlierField, node.a, lanes & ~first);
      }
      default:
        return operands(id, {node.x, node.y, node.z}, lanes);
    }
  }

 private:
  /// The operands that are missing or unknown words; where none is, they are of unlike kinds.
  void operands(NodeId id, std::initializer_list<NodeId> nodes, Lanes lanes) {
    Lanes rest = lanes;
    for (const NodeId x : nodes) {
      if (x == kNoNode || program_.nodes[x].type == Type::Truth) continue;
      const Lanes missing = access_.missing(x, lanes);
      value(x, missing);
      const Lanes odd = access_.no_word(x, lanes);
      odd_word(x, odd);
      rest &= ~missing & ~odd;
    }
    blame_.add(CauseKind::Kinds, id, rest);
  }

  void odd_word(NodeId id, Lanes lanes) {
    if (lanes == 0) return;
    const Node& node = program_.nodes[id];
    if (node.op == Op::Field) return blame_.add(CauseKind::UnknownWord, node.a, lanes);
    if (node.op == Op::RecordField) return blame_.add(CauseKind::EarlierField, node.a, lanes);
    for (const NodeId x : {node.x, node.y, node.z}) {
      if (x != kNoNode && program_.nodes[x].type == Type::Word) odd_word(x, lanes);
    }
  }

  /// Blames what a condition over rows, items or records reads and what is not there.  Such a
  /// condition has no single value, so every missing field in it counts; what stands outside of the
  /// rows has one, and counts only where that is missing.  Returns lanes explained.
  Lanes leaves(NodeId id, Lanes lanes) {
    if (id == kNoNode || lanes == 0) return 0;
    Lanes found = 0;
    for (const NodeId outside : blame_.outer_nodes().of(program_, id))
      found |= outer(outside, program_.nodes[outside], lanes);
    return found;
  }

  Lanes outer(NodeId id, const Node& node, Lanes lanes) {
    if (node.type == Type::Truth) {
      const Lanes open = access_.unknown(id, lanes);
      condition(id, open);
      return open;
    }
    const Lanes missing = access_.missing(id, lanes);
    value(id, missing);
    const Lanes odd = access_.no_word(id, lanes & ~missing);
    odd_word(id, odd);
    return missing | odd;
  }

  NodeId record_field(NodeId id) {
    if (id == kNoNode) return kNoNode;
    const Node& node = program_.nodes[id];
    if (node.op == Op::RecordField) return id;
    for (const NodeId x : {node.x, node.y, node.z}) {
      const NodeId found = record_field(x);
      if (found != kNoNode) return found;
    }
    return kNoNode;
  }

  void look_up(std::uint32_t number, Lanes lanes) {
    const LookUp& lookup = program_.lookups[number];
    const Lanes rest = lanes & ~leaves(lookup.where, lanes);
    // Where all fields are there, a word of a list that nobody knows is what is left.
    const NodeId list = list_in(lookup.where);
    if (list != kNoNode)
      blame_.add(CauseKind::UnknownWord, program_.nodes[list].a, rest);
    else
      blame_.add(CauseKind::Row, number, rest);
  }

  /// A list of the order that a condition over rows goes through, or kNoNode.
  NodeId list_in(NodeId id) {
    if (id == kNoNode) return kNoNode;
    const Node& node = program_.nodes[id];
    if (node.op == Op::AnyItem && program_.nodes[node.x].op == Op::Field) return node.x;
    for (const NodeId x : {node.x, node.y, node.z}) {
      const NodeId found = list_in(x);
      if (found != kNoNode) return found;
    }
    return kNoNode;
  }

  void list_condition(const Node& node, Lanes lanes) {
    const Lanes missing = access_.missing(node.x, lanes);
    value(node.x, missing);
    const Lanes rest = lanes & ~missing;
    const Lanes found = leaves(node.y, rest);
    if (program_.nodes[node.x].op == Op::Field) {
      blame_.add(CauseKind::UnknownWord, program_.nodes[node.x].a, rest & ~found);
    }
  }

  void query(const Query& query, Lanes lanes) {
    if (query.source == QuerySource::List) {
      const Lanes missing = access_.missing(query.list, lanes);
      value(query.list, missing);
      if (program_.nodes[query.list].op == Op::Field) {
        blame_.add(CauseKind::Field, program_.nodes[query.list].a, lanes & ~missing);
      }
      return;
    }
    const Lanes before = access_.before_history(query, lanes);
    blame_.add(CauseKind::HistoryStart, 0, before);
    lanes &= ~before;
    const Lanes found = leaves(query.where, lanes);
    NodeId field = record_field(query.where);
    if (field == kNoNode) field = query.value;
    const std::uint32_t id =
        field == kNoNode ? static_cast<std::uint32_t>(FieldId::Dose) : program_.nodes[field].a;
    blame_.add(CauseKind::EarlierField, id, lanes & ~found);
  }

  void engine(std::uint32_t id, Lanes lanes) {
    Lanes found = 0;
    for (const FieldId field : engine_values()[id].needs) {
      const Lanes absent = access_.absent(field, lanes);
      blame_.add(CauseKind::Field, static_cast<std::uint32_t>(field), absent);
      found |= absent;
    }
    blame_.add(CauseKind::Engine, id, lanes & ~found);
  }

  const Program& program_;
  Access& access_;
  Blame& blame_;
};

}  // namespace meniscus::engine
