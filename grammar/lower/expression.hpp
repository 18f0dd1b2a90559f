// Expressions: syntax tree in, nodes of the program out, checked on the way.
//
//   ExpressionLowering lowering(workspace, {.source = file, .lets = &lets});
//   const NodeId when = lowering.condition(*clause.when);   // kNoNode: a mistake was reported
//
// A mistake is reported once, where it stands; whatever is built on it stays silent.  A bare word
// is a code where a word is expected and no name says otherwise; so it is settled by its
// neighbour, not by itself.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

/// The item that a list's condition looks at.
struct ItemScope {
  Type self = Type::Items;  // Word or Text; Items: the item has parts
  engine::FieldId field{};  // whose list
};

enum class RecordScope : std::uint8_t { None, Earlier, Active };

/// Which names mean something here.
struct Scope {
  SourceId source = 0;
  std::vector<NamedValue>* lets = nullptr;  // of the rule
  std::optional<std::uint32_t> row;         // table of the enclosing look-up
  std::optional<ItemScope> item;
  RecordScope record = RecordScope::None;
};

/// What one side of an operation turned out to be.
struct Operand {
  enum class Kind : std::uint8_t { Failed, Node, Bare, Quoted };
  Kind kind = Kind::Failed;
  NodeId node = kNoNode;
  const Expr* expr = nullptr;

  [[nodiscard]] bool failed() const { return kind == Kind::Failed; }
  [[nodiscard]] bool is_node() const { return kind == Kind::Node; }
  [[nodiscard]] bool is_word() const { return kind == Kind::Bare || kind == Kind::Quoted; }
};

/// Where a node's words come from: decides what a bare word beside it may be.
struct WordSource {
  const engine::Vocabulary* closed = nullptr;                     // every word must be one of these
  std::string_view owner;                                         // field, or "kind of"
  std::optional<std::pair<std::uint32_t, std::uint32_t>> column;  // table and column
};

class ExpressionLowering {
 public:
  ExpressionLowering(Workspace& workspace, Scope scope) : w_(workspace), scope_(scope) {}

  /// A condition; kNoNode after a mistake.
  NodeId condition(const Expr& expr);
  /// Any value but a condition or a bare word; kNoNode after a mistake.
  NodeId value(const Expr& expr);
  /// What a `let` or a `define` stands for: a value or a condition.
  NodeId named(const Expr& expr);
  /// The node of a let or a define, made when first asked for.
  NodeId named_value(NamedValue& value, const Name& use);
  /// A value that a text can show.
  NodeId shown(const Expr& expr);

 private:
  using Kind = ExprKind;

  // expression.cpp: which kind goes where
  Operand operand(const Expr& expr);
  struct Ways;  // kind to member function
  Operand lower(const Expr& expr);
  [[nodiscard]] Operand of(const Expr& expr, NodeId node) const;
  Operand unread(const Expr& expr);
  Operand day(const Expr& expr);
  Operand logic(const Expr& expr);
  Operand asking(const Expr& expr);
  Operand engine_value(const Expr& expr);
  NodeId settle(const Operand& operand);

  // expression_names.cpp
  Operand path(const Expr& expr);
  std::optional<Operand> scoped_name(const Expr& expr, std::string_view head,
                                     std::string_view rest);
  std::optional<Operand> declared_name(const Expr& expr, std::string_view name);
  Operand row_cell(const Expr& expr, std::string_view column);
  Operand item_part(const Expr& expr, std::string_view part, Op op);
  Operand item_self(const Expr& expr);
  Operand record_part(const Expr& expr, NodeId record, std::string_view part);
  NodeId or_one(engine::FieldId field, NodeId node);
  [[nodiscard]] NodeId field_of(const Expr& expr, NodeId node) const;
  Operand order_field(const Expr& expr, engine::FieldId field);
  Operand as_written(const Expr& expr);
  NodeId unknown_name(const Operand& operand);
  [[nodiscard]] NamedValue* find_let(std::string_view name) const;
  [[nodiscard]] std::optional<Declared> find_define(std::string_view name) const;

  // expression_literals.cpp: literals and codes
  Operand literal(const Expr& expr);
  NodeId word_constant(const Operand& word, const WordSource& source);
  NodeId text_constant(const Operand& word);
  [[nodiscard]] WordSource word_source(NodeId node) const;
  [[nodiscard]] WordSource field_words(engine::FieldId field) const;
  bool both_code_and_name(const Operand& name, NodeId beside);
  NodeId check_column_word(const Operand& word, const WordSource& source, NodeId constant);

  // expression_arithmetic.cpp
  Operand arithmetic(const Expr& expr);
  Operand sum(const Expr& expr);
  Operand rounded(const Expr& expr);
  Operand dates(const Expr& expr);
  Operand after(const Expr& expr);
  Operand word_of(const Expr& expr);
  Operand choice(const Expr& expr);
  Operand or_else(const Expr& expr);
  /// A bare word takes its meaning from the other branch; two bare words are codes.
  Operand word_beside(const Operand& word, const Operand& other);
  Operand joined(const Expr& expr, Op op, NodeId condition, Operand left, Operand right);

  // expression_comparison.cpp
  Operand comparison(const Expr& expr);
  NodeId compare(const Expr& expr, const Operand& left);
  NodeId ordered(const Expr& expr, const Operand& left);
  NodeId equality(const Expr& expr, Op op, const Operand& left, const Operand& right);
  NodeId equality_with_word(const Expr& expr, Op op, const Operand& known, const Operand& word);
  NodeId one_of(const Expr& expr, const Operand& left);
  NodeId yes_no(const Expr& expr, const Operand& left);
  NodeId site_in(const Expr& expr, const Operand& left);
  NodeId by_date(const Expr& expr, const Operand& left);
  NodeId between(const Expr& expr, const Operand& left);
  NodeId differs(const Expr& expr, const Operand& left);
  NodeId multiple_of(const Expr& expr, const Operand& left);
  NodeId gauges(const Expr& expr, const Operand& left);
  NodeId text_test(const Expr& expr, const Operand& left);
  NodeId matches(const Expr& expr, NodeId text);
  NodeId includes(const Expr& expr, const Operand& left);
  NodeId negated(NodeId node);
  NodeId equals(const Expr& expr, const Operand& left);
  bool comparable(const Expr& expr, NodeId left, NodeId right);

  // expression_query.cpp
  Operand query(const Expr& expr);
  Operand look_up(const Expr& expr);
  Operand any_row(const Expr& expr);
  Operand any_item(const Expr& expr);
  Operand aggregate(const Expr& expr);
  NodeId aggregate_value(const Expr& expr);
  bool aggregate_window(const Expr& expr, engine::Query& query);
  std::optional<std::uint32_t> find_table(const Expr& expr);
  std::optional<std::uint32_t> find_column(std::uint32_t table, const Name& name);
  NodeId condition_on_row(const Expr& expr, std::uint32_t table);
  NodeId otherwise(const Expr& expr, std::uint32_t table, std::uint32_t column);
  void find_key(engine::LookUp& lookup, NodeId where) const;
  [[nodiscard]] bool free_of_row(NodeId node) const;
  std::uint32_t add_lookup(const engine::LookUp& lookup);
  std::uint32_t add_query(const engine::Query& query);
  NodeId list(const Expr& expr, ItemScope& item);
  NodeId list_of(const Operand& operand, ItemScope& item);

  // types.cpp: what a value must be
  NodeId need_quantity(const Operand& operand);
  NodeId need_quantity(const Operand& operand, const DimensionSet& dimensions,
                       std::string_view what);
  NodeId need(const Operand& operand, Type type, std::string_view what);
  /// Makes a mass a body mass where the other side is one; false when they still do not meet.
  bool meet(NodeId& left, NodeId& right);
  NodeId as_body_mass(NodeId node);
  NodeId wrong_type(const Operand& operand, std::string_view needed, std::string help = {});
  NodeId unlike_quantities(Code code, std::string_view verb, const Expr& expr, NodeId left,
                           NodeId right);
  [[nodiscard]] std::string describe(NodeId node) const;
  [[nodiscard]] std::string describe(const Operand& operand) const;
  void report(Mistake mistake) { w_.report.add(scope_.source, std::move(mistake)); }
  [[nodiscard]] static engine::Span place(const Expr& expr) {
    return expr.op.empty() ? expr.span : expr.op;
  }

  Workspace& w_;
  Scope scope_;
  std::uint32_t depth_ = 0;
};

/// Type and dimensions of a field's value.
Type type_of(engine::FieldKind kind);
DimensionSet dimensions_of(const engine::FieldInfo& field);

}  // namespace meniscus::grammar
