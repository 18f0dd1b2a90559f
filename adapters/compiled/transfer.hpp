// Each part of a program, field by field, in the order of the file: one description for both
// directions (archive.hpp).  What finish_program() works out is left out.
//
// A new field of engine/program/program.hpp gets its place here; the test that compiles every
// shipped rule and compares what was read with what was written finds one that was forgotten.
#pragma once

#include <utility>

#include "adapters/compiled/archive.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters::transfer {

// In all of these M is const where it is written.
inline constexpr auto kNumber = [](auto& a) { return [&a](auto& x) { a.number(x); }; };

template <class A, class M>
void field_id(A& a, M& field) {
  a.choice(field, static_cast<engine::FieldId>(engine::kFieldCount - 1));
}
template <class A, class M>
void fields(A& a, M& list) {
  a.list(list, 1, [&a](auto& x) { field_id(a, x); });
}
template <class A, class M>
void dimension(A& a, M& dimension) {
  std::uint64_t bits = dimension.bits();
  a.number(bits);
  if constexpr (A::kReads) dimension = engine::Dimension::from_bits(bits);
}
template <class A, class M>
void field_set(A& a, M& set) {
  constexpr std::size_t kBytes = 16;
  for (std::size_t i = 0; i < kBytes; ++i) {
    std::uint8_t byte = 0;
    for (std::size_t bit = 0; bit < 8; ++bit)
      byte = static_cast<std::uint8_t>(byte | (set.test(8 * i + bit) ? 1U << bit : 0U));
    a.number(byte);
    if constexpr (A::kReads) {
      for (std::size_t bit = 0; bit < 8; ++bit)
        set.set(8 * i + bit, (byte >> bit & 1U) != 0);
    }
  }
}
template <class A, class M>
void type(A& a, M& type) {
  a.choice(type, engine::Type::Record);
}

template <class A, class M>
void node(A& a, M& node) {
  a.choice(node.op, engine::Op::Query);
  type(a, node.type);
  a.flag(node.varies);
  a.flag(node.percent);
  dimension(a, node.dimension);
  a.number(node.a);
  a.number(node.x);
  a.number(node.y);
  a.number(node.z);
}
template <class A, class M>
void value(A& a, M& value) {
  a.number(value.number);
  a.number(value.aux);
  a.text(value.text);
  a.choice(value.state, engine::State::Any);
}
template <class A, class M>
void table(A& a, M& table) {
  a.text(table.name);
  a.list(table.columns, 14, [&a](auto& column) {
    a.text(column.name);
    type(a, column.type);
    a.flag(column.varies);
    dimension(a, column.dimension);
  });
  a.list(table.cells, 21, [&a](auto& x) { value(a, x); });
  a.list(table.lines, 4, kNumber(a));
  a.text(table.file);
}
template <class A, class M>
void look_up(A& a, M& look_up) {
  a.number(look_up.table);
  a.number(look_up.column);
  a.number(look_up.where);
  a.number(look_up.otherwise);
  a.maybe(look_up.key, kNumber(a));
  a.number(look_up.key_node);
}
template <class A, class M>
void query(A& a, M& query) {
  a.choice(query.kind, engine::QueryKind::WeeklyDose);
  a.choice(query.source, engine::QuerySource::List);
  a.number(query.list);
  a.number(query.last);
  a.number(query.within);
  a.number(query.where);
  a.number(query.value);
}
template <class A, class M>
void words(A& a, M& words) {
  a.list(words.pieces, 9, [&a](auto& piece) {
    a.text(piece.text);
    a.number(piece.node);
    a.maybe(piece.field, [&a](auto& x) { field_id(a, x); });
  });
}
template <class A, class M>
void clause(A& a, M& clause) {
  a.choice(clause.grade, engine::Grade::Hold);
  a.number(clause.when);
  words(a, clause.say);
  words(a, clause.ask);
  fields(a, clause.blames);
  a.number(clause.line);
}
template <class A, class M>
void without(A& a, M& without) {
  fields(a, without.fields);
  a.list(without.settings, 4, kNumber(a));
  a.flag(without.ignore);
  a.choice(without.grade, engine::Grade::Hold);
  words(a, without.say);
  words(a, without.ask);
  a.number(without.line);
}
template <class A, class M>
void named_node(A& a, M& named) {
  a.text(named.first);
  a.number(named.second);
}
template <class A, class M>
void rule(A& a, M& rule) {
  a.text(rule.name);
  a.text(rule.title);
  a.number(rule.concerns);
  a.list(rule.clauses, 21, [&a](auto& x) { clause(a, x); });
  a.list(rule.withouts, 22, [&a](auto& x) { without(a, x); });
  a.text(rule.cite);
  a.text(rule.owner);
  a.maybe(rule.reviewed, kNumber(a));
  a.maybe(rule.review_by, kNumber(a));
  a.list(rule.lets, 8, [&a](auto& x) { named_node(a, x); });
  field_set(a, rule.reads);
  a.list(rule.mutes, 8, [&a](auto& mute) {
    a.number(mute.scope);
    a.number(mute.change);
  });
  a.maybe(rule.trial, kNumber(a));
  a.text(rule.file);
  a.number(rule.line);
  a.text(rule.text);
}
template <class A, class M>
void setting(A& a, M& setting) {
  a.text(setting.name);
  a.text(setting.title);
  value(a, setting.value);
  type(a, setting.type);
  dimension(a, setting.dimension);
  a.flag(setting.percent);
  a.maybe(setting.least, kNumber(a));
  a.maybe(setting.most, kNumber(a));
  a.text(setting.least_text);
  a.text(setting.most_text);
}
template <class A, class M>
void change(A& a, M& change) {
  a.choice(change.kind, engine::ChangeKind::Trial);
  for (auto* text : {&change.target, &change.what, &change.note, &change.because, &change.by})
    a.text(*text);
  a.maybe(change.until, kNumber(a));
  a.flag(change.over);
  a.text(change.file);
  a.number(change.line);
}
template <class A, class M>
void example_order(A& a, M& order) {
  a.list(order.fields, 5, [&a](auto& field) {
    field_id(a, field.field);
    a.text(field.text);
  });
}
template <class A, class M>
void example(A& a, M& example) {
  a.text(example.title);
  example_order(a, example.order);
  a.list(example.earlier, 4, [&a](auto& x) { example_order(a, x); });
  a.list(example.expectations, 6, [&a](auto& expected) {
    a.maybe(expected.outcome, [&a](auto& x) { a.choice(x, engine::Outcome::Recorded); });
    a.flag(expected.nothing);
    a.text(expected.rule);
  });
  a.maybe(example.as_of, kNumber(a));
  a.flag(example.in_table);
  a.text(example.file);
  a.number(example.line);
}

/// All but patterns and sources, which are no plain data, and the examples, which come last.
template <class A, class M>
void program(A& a, M& program) {
  a.list(program.nodes, 28, [&a](auto& x) { node(a, x); });
  a.list(program.constants, 21, [&a](auto& x) { value(a, x); });
  a.list(program.lists, 4, [&a](auto& x) { a.list(x, 4, kNumber(a)); });
  a.list(program.lookups, 21, [&a](auto& x) { look_up(a, x); });
  a.list(program.queries, 26, [&a](auto& x) { query(a, x); });
  a.list(program.tables, 16, [&a](auto& x) { table(a, x); });
  a.list(program.settings, 52, [&a](auto& x) { setting(a, x); });
  a.list(program.defines, 8, [&a](auto& x) { named_node(a, x); });
  a.list(program.rules, 66, [&a](auto& x) { rule(a, x); });
  a.list(program.aside, 66, [&a](auto& x) { rule(a, x); });
  a.list(program.changes, 31, [&a](auto& x) { change(a, x); });
  a.flag(program.mute_hold);
  a.text(program.hash);
  a.list(program.spellings, 16, [&a](auto& x) {
    a.number(x.node);
    a.number(x.source);
    a.number(x.span.begin);
    a.number(x.span.end);
  });
}
template <class A, class M>
void examples(A& a, M& list) {
  a.list(list, 22, [&a](auto& x) { example(a, x); });
}

}  // namespace meniscus::adapters::transfer
