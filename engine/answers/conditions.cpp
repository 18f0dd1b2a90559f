// Hashes of nodes from below (contract: conditions.hpp).
#include "engine/answers/conditions.hpp"

#include <array>
#include <bit>
#include <string>
#include <string_view>
#include <unordered_map>

#include "engine/explain/wording.hpp"
#include "engine/program/op_name.hpp"

namespace meniscus::engine {
namespace {

// By their names, so that a later version of the engine gives the same.
constexpr std::array<std::string_view, 6> kKinds = {"latest", "earliest", "number",
                                                    "total",  "median",   "weekly-dose"};
static_assert(kKinds.size() == static_cast<std::size_t>(QueryKind::WeeklyDose) + 1);
constexpr std::array<std::string_view, 4> kSources = {"earlier-injections", "earlier-orders",
                                                      "active-orders", "list"};
static_assert(kSources.size() == static_cast<std::size_t>(QuerySource::List) + 1);

/// FNV-1a, 64 bits, over what it is given in turn.
class Hash {
 public:
  Hash& add(std::string_view text) {
    for (const char c : text)
      byte(static_cast<unsigned char>(c));
    byte(0);
    return *this;
  }
  Hash& add(std::uint64_t number) {
    for (unsigned shift = 0; shift < 64; shift += 8)
      byte(static_cast<unsigned char>(number >> shift));
    return *this;
  }
  Hash& add(const Value& value) {
    add(static_cast<std::uint64_t>(value.state));
    return add(std::bit_cast<std::uint64_t>(value.number)).add(value.aux).add(value.text);
  }
  [[nodiscard]] std::uint64_t value() const { return hash_; }

 private:
  void byte(unsigned char c) { hash_ = (hash_ ^ c) * 0x100000001B3U; }
  std::uint64_t hash_ = 0xCBF29CE484222325U;
};

class Fingerprint {
 public:
  Fingerprint(const Program& program, const Rule& rule)
      : program_(program), rule_(rule), wording_(program) {}

  std::uint64_t of(NodeId id) {
    if (id == kNoNode) return 0;
    if (const auto known = known_.find(id); known != known_.end()) return known->second;
    const Node& node = program_.nodes[id];
    Hash hash;
    hash.add(name(node.op));
    immediate(id, node, hash);
    for (const NodeId child : {node.x, node.y, node.z})
      hash.add(of(child));
    known_.emplace(id, hash.value());
    return hash.value();
  }

 private:
  /// What `a` stands for: numbers of tables and the like are only of this program.
  void immediate(NodeId id, const Node& node, Hash& hash) {
    switch (node.op) {
      case Op::Constant:
        hash.add(program_.constants[node.a]);
        return;
      case Op::Field:
      case Op::Written:
      case Op::RecordField:
      case Op::RecordWritten:
        hash.add(info(static_cast<FieldId>(node.a)).name);
        return;
      case Op::Setting:
        hash.add(program_.settings[node.a].name);
        return;
      case Op::Engine:
        hash.add(engine_values()[node.a].name);
        return;
      case Op::IsOneOf:
        for (const NodeId child : program_.lists[node.a])
          hash.add(of(child));
        return;
      case Op::Matches:
        hash.add(wording_.text(rule_, id));
        return;
      case Op::LookUp:
      case Op::LookUpEvery:
      case Op::AnyRow:
        look_up(program_.lookups[node.a], hash);
        return;
      case Op::Query:
        query(program_.queries[node.a], hash);
        return;
      case Op::ItemPart:
      case Op::PreviousPart:
        hash.add(name(static_cast<ItemField>(node.a)));
        return;
      default:  // a column of a table, or nothing
        hash.add(node.a);
        return;
    }
  }

  void look_up(const LookUp& lookup, Hash& hash) {
    const Table& table = program_.tables[lookup.table];
    hash.add(table.name);
    if (lookup.column < table.columns.size()) hash.add(table.columns[lookup.column].name);
    hash.add(of(lookup.where)).add(of(lookup.otherwise));
  }

  void query(const Query& query, Hash& hash) {
    hash.add(kKinds.at(static_cast<std::size_t>(query.kind)));
    hash.add(kSources.at(static_cast<std::size_t>(query.source)));
    hash.add(query.last).add(std::bit_cast<std::uint64_t>(query.within));
    hash.add(of(query.list)).add(of(query.where)).add(of(query.value));
  }

  const Program& program_;
  const Rule& rule_;
  Wording wording_;
  std::unordered_map<NodeId, std::uint64_t> known_;
};

}  // namespace

std::vector<NodeId> conditions_of(const Rule& rule, const Hit& hit) {
  if (hit.clause >= 0) {
    return {rule.concerns, rule.clauses[static_cast<std::size_t>(hit.clause)].when};
  }
  std::vector<NodeId> roots = {rule.concerns};
  for (const Clause& clause : rule.clauses)
    roots.push_back(clause.when);
  return roots;
}

std::uint64_t fingerprint(const Program& program, const Rule& rule, const Hit& hit) {
  Fingerprint nodes(program, rule);
  Hash hash;
  for (const NodeId root : conditions_of(rule, hit))
    hash.add(nodes.of(root));
  if (hit.clause >= 0) return hash.value();
  const Without& without = rule.withouts[static_cast<std::size_t>(hit.without)];
  for (const FieldId field : without.fields)
    hash.add(info(field).name);
  for (const std::uint32_t setting : without.settings)
    hash.add(program.settings[setting].name);
  return hash.value();
}

}  // namespace meniscus::engine
