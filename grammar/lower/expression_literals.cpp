// Literals, and what a bare or quoted word means beside another value.
#include <utility>

#include "grammar/lower/expression.hpp"
#include "grammar/lower/literals.hpp"

namespace meniscus::grammar {

using engine::FieldId;
using engine::ItemField;
using engine::Value;

namespace {

FieldId field_of_part(std::uint32_t part) {
  const auto item = static_cast<ItemField>(part);
  if (item == ItemField::Site) return FieldId::Site;
  if (item == ItemField::Side) return FieldId::Side;
  return FieldId::SubstanceCode;
}

const engine::Vocabulary& kinds_of_amount() {
  static const engine::Vocabulary kWords = [] {
    engine::Vocabulary v;
    for (const std::string_view word : {"by-mass", "by-units", "by-volume"})
      v.add(word, word);
    return v;
  }();
  return kWords;
}

bool same_word_text(const Value& value, engine::Word word) {
  return value.known() && value.aux == word;
}

}  // namespace

Operand ExpressionLowering::literal(const Expr& expr) {
  if (expr.kind == Kind::String) return {Operand::Kind::Quoted, kNoNode, &expr};
  const auto literal =
      expr.kind == Kind::Date ? read_date_literal(expr.text) : read_quantity_literal(expr.text);
  if (!literal) {
    report({Code::R0229, expr.span, literal.error().message, {}, ""});
    return of(expr, kNoNode);
  }
  return of(expr, w_.nodes.constant(literal->type, literal->value, literal->percent));
}

NodeId ExpressionLowering::text_constant(const Operand& word) {
  return w_.nodes.constant(Type::Text, {0, 0, word.expr->text, engine::State::Known});
}

WordSource ExpressionLowering::field_words(FieldId field) const {
  return {w_.vocabularies.of(field), engine::info(field).name, std::nullopt};
}

WordSource ExpressionLowering::word_source(NodeId id) const {
  const engine::Node& node = w_.nodes[id];
  if (node.op == Op::Field || node.op == Op::RecordField) {
    return field_words(static_cast<FieldId>(node.a));
  }
  if (node.op == Op::ItemPart || node.op == Op::PreviousPart) {
    return field_words(field_of_part(node.a));
  }
  if (node.op == Op::ItemSelf) return field_words(static_cast<FieldId>(w_.nodes.origin(id)));
  if (node.op == Op::KindOf) return {&kinds_of_amount(), "kind of", std::nullopt};
  if (node.op == Op::RowCell) return {nullptr, {}, std::pair(w_.nodes.origin(id), node.a)};
  if (node.op == Op::LookUp) {
    const engine::LookUp& lookup = w_.program->lookups[node.a];
    if (lookup.otherwise == kNoNode) return {nullptr, {}, std::pair(lookup.table, lookup.column)};
  }
  return {};
}

NodeId ExpressionLowering::word_constant(const Operand& word, const WordSource& source) {
  const std::string& text = word.expr->text;
  if (source.closed == nullptr) {
    const NodeId constant =
        w_.nodes.constant(Type::Word, Value::word(engine::word_hash(text), text));
    return check_column_word(word, source, constant);
  }
  if (const auto* entry = source.closed->find(text)) {
    return w_.nodes.constant(Type::Word, Value::word(entry->word, entry->name));
  }
  Nearest nearest(text);
  for (const auto& [spelling, entry] : source.closed->entries())
    nearest.offer(entry.name);
  if (scope_.lets != nullptr) {
    for (const NamedValue& let : *scope_.lets)
      nearest.offer(let.let->name.text);
  }
  report({Code::R0206,
          word.expr->span,
          quoted(source.owner) + " knows no word " + quoted(text),
          {},
          nearest.help("add it to the table of its words")});
  return kNoNode;
}

NodeId ExpressionLowering::check_column_word(const Operand& word, const WordSource& source,
                                             NodeId constant) {
  if (!source.column) return constant;
  const auto [table_index, column] = *source.column;
  const engine::Table& table = w_.program->tables[table_index];
  const engine::Word wanted = engine::word_hash(word.expr->text);
  Nearest nearest(word.expr->text);
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const Value& cell = table.cell(row, column);
    if (cell.state == engine::State::Any || same_word_text(cell, wanted)) return constant;
    if (cell.known()) nearest.offer(cell.text);
  }
  report({Code::R0234,
          word.expr->span,
          "no row of " + quoted(table.name) + " has " + quoted(word.expr->text) + " in " +
              quoted(table.columns[column].name),
          {},
          nearest.help()});
  return constant;
}

bool ExpressionLowering::both_code_and_name(const Operand& name, NodeId beside) {
  if (name.expr->kind != Kind::Path) return false;
  const std::string& text = name.expr->text;
  if (text.find('.') != std::string::npos) return false;
  const WordSource source = word_source(beside);
  bool is_code = source.closed != nullptr && source.closed->find(text) != nullptr;
  if (source.column) {
    const auto [table_index, column] = *source.column;
    const engine::Table& table = w_.program->tables[table_index];
    const engine::Word wanted = engine::word_hash(text);
    for (std::size_t row = 0; row < table.rows() && !is_code; ++row) {
      is_code = same_word_text(table.cell(row, column), wanted);
    }
  }
  if (!is_code) return false;
  report({Code::R0205,
          name.expr->span,
          quoted(text) + " is both a code and a name here",
          {},
          "put the code in quotes, or give the name another name"});
  return true;
}

}  // namespace meniscus::grammar
