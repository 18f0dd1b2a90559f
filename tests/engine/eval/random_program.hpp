// Random programs and random blocks: what the two evaluators are compared on.
//
// Nodes are typed as the compiler would type them, so every operation that evaluation knows is met
// with every state of its operands (known, none, missing, any, unknown words, unlike kinds).
#pragma once

#include <random>
#include <string>
#include <vector>

#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::testing {

class RandomProgram {
 public:
  explicit RandomProgram(std::uint32_t seed) : random_(seed) {
    add_table();
    add_settings();
    for (int i = 0; i < 40; ++i)
      add_leaf();
    for (int i = 0; i < 220; ++i)
      add_inner();
    finish_program(program_);
  }

  Program& program() { return program_; }

  /// Other dates and ages where some are known: orders of the same keys (order_keys.hpp).  `lanes`
  /// orders that are like the first `kinds`, again and again.
  void fill_anew(const OrderBlock& like, OrderBlock& block, unsigned lanes = kLanes,
                 unsigned kinds = kLanes) {
    block.clear();
    for (unsigned lane = 0; lane < lanes; ++lane) {
      block.add_lane();
      const unsigned kind = lane % kinds;
      for (const FieldInfo& field : fields()) {
        if (!like.value(kind, field.id).known()) {
          if ((like.column(field.id).none >> kind & 1U) != 0)
            block.set(lane, field.id, Value::none(), "x", {0, 1});
          continue;
        }
        Value v = like.value(kind, field.id);
        if (field.id == FieldId::PatientAge) v = Value::quantity(small_number(), dim::kTime);
        if (field.kind == FieldKind::Date || field.kind == FieldKind::MonthEnd) v = some_date();
        block.set(lane, field.id, v, "x", {0, 1});
      }
    }
  }

  /// Rules whose conditions are the program's own.
  void add_rules() {
    for (int i = 0; i < 30; ++i) {
      Rule rule;
      rule.name = "rule-" + std::to_string(i);
      if (pick(2) == 0) rule.concerns = one_of(truths_);
      for (unsigned clause = 0; clause <= pick(3); ++clause) {
        Clause one;
        one.grade = pick(2) == 0 ? Grade::Note : Grade::Clarify;
        one.when = one_of(truths_);
        rule.clauses.push_back(one);
      }
      if (pick(3) == 0) {
        Without without;
        without.fields = {kDates[pick(2)], kWords[pick(3)], FieldId::PatientAge};
        without.ignore = pick(2) == 0;
        without.grade = Grade::Note;
        rule.withouts.push_back(without);
      }
      program_.rules.push_back(rule);
    }
  }

  /// Fills all lanes: each field known, none, missing or odd.
  void fill(OrderBlock& block) {
    block.clear();
    for (unsigned lane = 0; lane < kLanes; ++lane) {
      block.add_lane();
      for (const FieldId f : kVolumes)
        set_number(block, lane, f, dim::kVolume);
      for (const FieldId f : kAmounts) {
        const Dimension kinds[] = {dim::kMass, dim::kBiological, dim::kVolume};
        set_number(block, lane, f, kinds[pick(3)]);
      }
      for (const FieldId f : kWords)
        set_word(block, lane, f);
      for (const FieldId f : kDates)
        set_date(block, lane, f);
      set_number(block, lane, FieldId::NeedleGauge, dim::kNumber);
      set_number(block, lane, FieldId::PatientAge, dim::kTime);
    }
  }

 private:
  static constexpr FieldId kVolumes[] = {FieldId::Volume, FieldId::SyringeCapacity,
                                         FieldId::SyringeGraduation, FieldId::VialVolume};
  static constexpr FieldId kAmounts[] = {FieldId::Dose, FieldId::DoseHigh, FieldId::VialContent};
  static constexpr FieldId kWords[] = {FieldId::Route, FieldId::Site, FieldId::SubstanceCode};
  static constexpr FieldId kDates[] = {FieldId::VialOpened, FieldId::VialExpires};
  static constexpr const char* kNames[] = {"alpha", "beta", "gamma", "delta"};

  unsigned pick(unsigned n) { return std::uniform_int_distribution<unsigned>(0, n - 1)(random_); }
  double small_number() { return static_cast<double>(pick(6)) * 0.25; }

  void set_number(OrderBlock& block, unsigned lane, FieldId field, Dimension dimension) {
    const unsigned what = pick(8);
    if (what == 0) return;
    const Value v = what == 1 ? Value::none() : Value::quantity(small_number(), dimension);
    block.set(lane, field, v, "x", {0, 1});
  }
  void set_word(OrderBlock& block, unsigned lane, FieldId field) {
    const unsigned what = pick(8);
    if (what == 0) return;
    const char* name = kNames[pick(4)];
    Value v = Value::word(word_hash(name), name);
    if (what == 1) v = Value::none();
    if (what == 2) v = Value::word(kNoWord, "odd");
    block.set(lane, field, v, name, {0, 1});
  }
  void set_date(OrderBlock& block, unsigned lane, FieldId field) {
    const unsigned what = pick(6);
    if (what == 0) return;
    block.set(lane, field, what == 1 ? Value::none() : some_date(), "x", {0, 1});
  }
  Value some_date() {
    Date date;
    date.seconds = static_cast<std::int64_t>(pick(5)) * 43200;
    return Value::date(date);
  }

  /// Rows by word with a number, a band and a second word; some cells `any`, some none.
  void add_table() {
    Table table;
    table.name = "t";
    table.columns = {{"word", Type::Word, false, {}},
                     {"other", Type::Word, false, {}},
                     {"band", Type::Band, false, dim::kTime},
                     {"number", Type::Quantity, false, dim::kVolume}};
    for (int row = 0; row < 7; ++row) {
      for (int c = 0; c < 2; ++c) {
        const unsigned what = pick(6);
        const char* name = kNames[pick(4)];
        Value v = Value::word(word_hash(name), name);
        if (what == 0) v = Value::any();
        if (what == 1) v = Value::none();
        table.cells.push_back(v);
      }
      const double from = small_number();
      table.cells.push_back(pick(5) == 0 ? Value::any() : make_band(from, from + 0.5, dim::kTime));
      table.cells.push_back(pick(5) == 0 ? Value::none()
                                         : Value::quantity(small_number(), dim::kVolume));
      table.lines.push_back(static_cast<std::uint32_t>(row + 2));
    }
    program_.tables.push_back(std::move(table));
  }

  void add_settings() {
    Setting set;
    set.name = "limit";
    set.value = Value::quantity(0.5, dim::kVolume);
    Setting unset;
    unset.name = "unset";
    program_.settings = {set, unset};
  }

  NodeId add(Node node) {
    program_.nodes.push_back(node);
    const auto id = static_cast<NodeId>(program_.nodes.size() - 1);
    if (node.type == Type::Truth) truths_.push_back(id);
    if (node.type == Type::Quantity && !node.percent) {
      const bool time = !node.varies && node.dimension == dim::kTime;
      (time ? times_ : node.varies ? amounts_ : volumes_).push_back(id);
    }
    if (node.type == Type::Word) words_.push_back(id);
    if (node.type == Type::Date) dates_.push_back(id);
    if (node.type == Type::Gauge) gauges_.push_back(id);
    return id;
  }
  NodeId field(FieldId f, Type type, bool varies = false, Dimension dimension = dim::kVolume) {
    Node node{Op::Field, type};
    node.a = static_cast<std::uint32_t>(f);
    node.varies = varies;
    node.dimension = dimension;
    return add(node);
  }
  NodeId constant(const Value& v, Type type) {
    program_.constants.push_back(v);
    Node node{Op::Constant, type};
    node.a = static_cast<std::uint32_t>(program_.constants.size() - 1);
    node.dimension = dim::kVolume;
    return add(node);
  }

  void add_leaf() {
    switch (pick(8)) {
      case 0:
        field(kVolumes[pick(4)], Type::Quantity);
        break;
      case 1:
        field(kAmounts[pick(3)], Type::Quantity, true);
        break;
      case 2:
        field(kWords[pick(3)], Type::Word);
        break;
      case 3:
        field(kDates[pick(2)], Type::Date);
        break;
      case 4:
        constant(Value::quantity(small_number(), dim::kVolume), Type::Quantity);
        break;
      case 5:
        constant(Value::word(word_hash(kNames[pick(4)]), "w"), Type::Word);
        break;
      case 6:
        field(FieldId::NeedleGauge, Type::Gauge);
        break;
      default:
        add_setting_leaf();
        break;
    }
    if (truths_.empty()) {
      Node node{Op::IsNone, Type::Truth};
      node.x = 0;
      add(node);
    }
  }
  void add_setting_leaf() {
    Node node{Op::Setting, Type::Quantity};
    node.a = pick(2);
    node.dimension = dim::kVolume;
    add(node);
    add({pick(3) == 0 ? Op::PlannedDay : Op::Today, Type::Date});
    field(FieldId::PatientAge, Type::Quantity, false, dim::kTime);
  }

  NodeId one_of(const std::vector<NodeId>& from) {
    return from[pick(static_cast<unsigned>(from.size()))];
  }
  bool ready() const {
    return !volumes_.empty() && !amounts_.empty() && !words_.empty() && !dates_.empty() &&
           !gauges_.empty();
  }

  void binary(Op op, Type type, const std::vector<NodeId>& from, bool varies = false) {
    Node node{op, type};
    node.varies = varies;
    node.dimension = dim::kVolume;
    node.x = one_of(from);
    node.y = one_of(from);
    add(node);
  }

  void add_look_up() {
    const NodeId key = one_of(words_);
    Node equal{Op::Equal, Type::Truth};
    equal.x = add_row(0, Type::Word);
    equal.y = key;
    NodeId where = add_scoped(equal);
    if (pick(2) == 0) {
      Node second{Op::Equal, Type::Truth};
      second.x = add_row(1, Type::Word);
      second.y = one_of(words_);
      where = both(where, add_scoped(second));
    }
    if (pick(2) == 0) {
      Node includes{Op::Includes, Type::Truth};
      includes.x = add_row(2, Type::Band);
      includes.y = age();
      where = both(where, add_scoped(includes));
    }
    LookUp lookup;
    lookup.table = 0;
    lookup.column = 3;
    lookup.where = where;
    if (pick(4) != 0) {
      lookup.key = 0;
      lookup.key_node = key;
    }
    if (pick(3) == 0) lookup.otherwise = one_of(volumes_);
    program_.lookups.push_back(lookup);
    Node node{Op::LookUp, Type::Quantity};
    node.dimension = dim::kVolume;
    node.a = static_cast<std::uint32_t>(program_.lookups.size() - 1);
    if (pick(3) == 0) {
      node.op = Op::AnyRow;
      node.type = Type::Truth;
    }
    add(node);
  }
  NodeId age() {
    Node node{Op::Field, Type::Quantity};
    node.a = static_cast<std::uint32_t>(FieldId::PatientAge);
    node.dimension = dim::kTime;
    return add_scoped(node);
  }
  /// A node that no other node may pick.
  NodeId add_scoped(const Node& node) {
    program_.nodes.push_back(node);
    return static_cast<NodeId>(program_.nodes.size() - 1);
  }
  NodeId add_row(std::uint32_t column, Type type) {
    Node cell{Op::RowCell, type};
    cell.a = column;
    return add_scoped(cell);
  }
  NodeId both(NodeId x, NodeId y) {
    Node node{Op::And, Type::Truth};
    node.x = x;
    node.y = y;
    return add_scoped(node);
  }

  void add_comparison() {
    constexpr Op kOrders[] = {Op::Less,         Op::LessEqual, Op::Greater,
                              Op::GreaterEqual, Op::Equal,     Op::NotEqual};
    switch (pick(8)) {
      case 0:
        return binary(kOrders[pick(6)], Type::Truth, amounts_);
      case 1:
        return binary(pick(2) == 0 ? Op::Equal : Op::NotEqual, Type::Truth, words_);
      case 2:
        return binary(kOrders[pick(6)], Type::Truth, dates_);
      case 3:
        return binary(pick(2) == 0 ? Op::ThinnerThan : Op::WiderThan, Type::Truth, gauges_);
      case 4: {
        Node node{pick(2) == 0 ? Op::Between : Op::DiffersByAmount, Type::Truth};
        node.x = one_of(volumes_);
        node.y = one_of(volumes_);
        node.z = one_of(volumes_);
        add(node);
        return;
      }
      case 5: {
        Node node{Op::IsOneOf, Type::Truth};
        node.x = one_of(words_);
        program_.lists.push_back({one_of(words_), one_of(words_), one_of(words_)});
        node.a = static_cast<std::uint32_t>(program_.lists.size() - 1);
        add(node);
        return;
      }
      case 6:
        return binary(Op::MultipleOf, Type::Truth, volumes_);
      default:
        return binary(kOrders[pick(6)], Type::Truth, volumes_);
    }
  }

  /// Days between two dates, or a condition about such.
  void add_time() {
    Node node{Op::DaysBetween, Type::Quantity};
    node.dimension = dim::kTime;
    node.x = one_of(dates_);
    node.y = one_of(dates_);
    add(node);
    binary(pick(2) == 0 ? Op::Less : Op::GreaterEqual, Type::Truth, times_);
    Node asks{pick(2) == 0 ? Op::IsGiven : Op::IsMissing, Type::Truth};
    asks.a = 0;
    asks.x = one_of(times_);
    add(asks);
  }

  void add_asking() {
    constexpr Op kAsk[] = {Op::IsGiven, Op::IsMissing, Op::IsNone};
    Node node{kAsk[pick(3)], Type::Truth};
    node.a = node.op == Op::IsGiven ? pick(2) : 0;
    node.x = pick(2) == 0 ? one_of(volumes_) : one_of(words_);
    add(node);
  }

  void add_choice() {
    Node node{pick(2) == 0 ? Op::OrElse : Op::Choose, Type::Quantity};
    node.dimension = dim::kVolume;
    if (node.op == Op::Choose) {
      node.x = one_of(truths_);
      node.y = one_of(volumes_);
      node.z = one_of(volumes_);
    } else {
      node.x = one_of(volumes_);
      node.y = one_of(volumes_);
    }
    add(node);
  }

  void add_inner() {
    if (!ready()) return add_leaf();
    switch (pick(10)) {
      case 0:
        return binary(pick(2) == 0 ? Op::Add : Op::Subtract, Type::Quantity, volumes_);
      case 1: {
        constexpr Op kOps[] = {Op::Add, Op::Subtract, Op::RoundNearest, Op::RoundUp, Op::RoundDown};
        return binary(kOps[pick(5)], Type::Quantity, amounts_, true);
      }
      case 2: {
        Node node{pick(2) == 0 ? Op::Multiply : Op::Divide, Type::Quantity};
        node.varies = true;
        node.x = one_of(amounts_);
        node.y = one_of(volumes_);
        add(node);
        return;
      }
      case 3:
      case 4:
        return add_comparison();
      case 5: {
        Node node{pick(3) == 0 ? Op::Not : (pick(2) == 0 ? Op::And : Op::Or), Type::Truth};
        node.x = one_of(truths_);
        node.y = node.op == Op::Not ? kNoNode : one_of(truths_);
        add(node);
        return;
      }
      case 6:
        return add_asking();
      case 7:
        return add_look_up();
      case 8:
        return add_time();
      default:
        return add_choice();
    }
  }

  std::mt19937 random_;
  Program program_;
  std::vector<NodeId> truths_, volumes_, amounts_, times_, words_, dates_, gauges_;
};

}  // namespace meniscus::engine::testing
