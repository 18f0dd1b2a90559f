// Tables, lists and history in the tree walk.
#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/eval/primitives.hpp"
#include "engine/eval/scalar.hpp"
#include "engine/history/active.hpp"

namespace meniscus::engine {

namespace p = primitives;

// ---------------------------------------------------------------- tables

void Scalar::try_row(const LookUp& lookup, std::uint32_t row, bool only_key, Find& out) {
  if (only_key) {
    out.held.push_back(row);
    return;
  }
  scope_.row = row;
  if (lookup.one_open_row_is_enough && !out.open.empty()) {
    if (is_true(lookup.where)) out.held.push_back(row);
    return;
  }
  const Truth holds = truth(lookup.where);
  if (holds == Truth::True) out.held.push_back(row);
  if (holds == Truth::Unknown) out.open.push_back(row);
}

/// True when some conjunct fails whatever the row: it is free of the row and does not hold, or asks
/// for an item of a list that has none.
bool Scalar::cannot_hold(NodeId where) {
  const Node& node = program_.nodes[where];
  if (node.op == Op::And) return cannot_hold(node.x) || cannot_hold(node.y);
  if (node.op == Op::AnyItem) {
    if (program_.nodes[node.x].scoped) return false;
    const Value list = value(node.x);
    return list.state == State::None || (list.known() && OrderBlock::item_count(list.aux) == 0);
  }
  if (node.scoped) return false;
  const Truth holds = truth(where);
  return holds == Truth::False || holds == Truth::Void;
}

/// Tries a row that nothing rules out; false when no more rows are needed.
bool Scalar::try_next(const LookUp& lookup, const TextFilter& filter, std::uint32_t row,
                      bool only_key, Find& out) {
  if (!filter.passes_over(row, out)) try_row(lookup, row, only_key, out);
  return !lookup.one_row_is_enough || out.held.empty();
}

void Scalar::try_rows_of_key(const LookUp& lookup, std::uint32_t number, const TextFilter& filter,
                             Word key, Find& out) {
  const bool only_key = program_.nodes[lookup.where].op == Op::Equal;
  bool more = true;
  const auto [first, last] = program_.row_index[number].equal_range(key);
  for (auto at = first; more && at != last; ++at)
    more = try_next(lookup, filter, at->second, only_key, out);
  const std::vector<std::uint32_t>& of_any = program_.any_rows[number];
  for (std::size_t i = 0; more && i < of_any.size(); ++i)
    more = try_next(lookup, filter, of_any[i], only_key, out);
}

void Scalar::search(const LookUp& lookup, std::uint32_t number, Find& out) {
  out.held.clear();
  out.open.clear();
  const Value key = lookup.key ? value(lookup.key_node) : Value::missing();
  const Scope outside = scope_;
  scope_.table = lookup.table;
  const TextFilter filter = text_filter(lookup, number, out);
  if (filter.passes_over_all(out)) {
    // Nearly always: few texts hold what such a table is about.
  } else if (key.known() && key.aux != kNoWord) {
    try_rows_of_key(lookup, number, filter, key.aux, out);
  } else if (!cannot_hold(lookup.where)) {
    const auto rows = static_cast<std::uint32_t>(program_.tables[lookup.table].rows());
    bool more = true;
    for (std::uint32_t row = 0; more && row < rows; ++row)
      more = try_next(lookup, filter, row, false, out);
  }
  scope_ = outside;
}

/// Rows whose text is in none of the order's texts are passed over; where a text is missing, such a
/// row is open, and one open row is as good as many when nobody asks for its cell.
bool Scalar::TextFilter::passes_over(std::uint32_t row, const Find& found) const {
  if (!filters || TextRows::holds(found.in_texts, row)) return false;
  return !open || (one_is_enough && !found.open.empty());
}

bool Scalar::TextFilter::passes_over_all(const Find& found) const {
  const auto is_empty = [](std::uint64_t rows) { return rows == 0; };
  return filters && !open && std::ranges::all_of(found.in_texts, is_empty);
}

Scalar::TextFilter Scalar::text_filter(const LookUp& lookup, std::uint32_t number, Find& out) {
  TextFilter filter;
  if (!lookup.text_column) return filter;
  filter.filters = true;
  filter.one_is_enough = lookup.one_open_row_is_enough;
  out.in_texts.assign(TextRows::words(program_.tables[lookup.table].rows()), 0);
  for (const NodeId id : lookup.texts) {
    const Value text = value(id);
    if (text.known()) text_rows_.add(number, text.text, out.in_texts);
    filter.open = filter.open || text.state == State::Missing;
  }
  return filter;
}

const Scalar::Find& Scalar::find(std::uint32_t number, bool scoped) {
  const LookUp& lookup = program_.lookups[number];
  if (!scoped) {
    Find& find = finds_[program_.find_of[number]];
    if (find.epoch != epoch_) {
      search(lookup, number, find);
      find.epoch = epoch_;
    }
    return find;
  }
  if (find_depth_ + 1 >= scoped_finds_.size()) find_depth_ = 0;  // nesting is bounded when compiled
  Find& find = scoped_finds_[find_depth_++];
  search(lookup, number, find);
  --find_depth_;
  return find;
}

namespace {

bool same_cell(const Value& a, const Value& b) {
  return a.state == b.state && a.number == b.number && a.aux == b.aux && a.text == b.text;
}

}  // namespace

/// A look-up whose cell is the same for all orders when its key is.
bool Scalar::is_by_word(const Node& node) const {
  if (node.op != Op::LookUp || !node.scoped) return false;
  const LookUp& lookup = program_.lookups[node.a];
  return lookup.key && lookup.otherwise == kNoNode &&
         program_.nodes[lookup.where].op == Op::Equal && !lookup.text_column;
}

Value Scalar::look_up(const Node& node) {
  if (!is_by_word(node)) return cell_of(node);
  const Value key = value(program_.lookups[node.a].key_node);
  if (!key.known() || key.aux == kNoWord) return cell_of(node);
  Cell& cell = cells_[cell_slot(node.a, key.aux)];
  if (cell.lookup != node.a || cell.key != key.aux) cell = {node.a, key.aux, cell_of(node)};
  return cell.value;
}

Value Scalar::cell_of(const Node& node) {
  const LookUp& lookup = program_.lookups[node.a];
  const Find& found = find(node.a, node.scoped);
  if (found.held.empty() && found.open.empty()) {
    return lookup.otherwise == kNoNode ? Value::missing() : value(lookup.otherwise);
  }
  if (found.held.empty() && lookup.otherwise != kNoNode) return Value::missing();
  const Table& table = program_.tables[lookup.table];
  const std::uint32_t first = found.held.empty() ? found.open.front() : found.held.front();
  const Value& cell = table.cell(first, lookup.column);
  const auto agrees = [&](std::uint32_t row) {
    return same_cell(table.cell(row, lookup.column), cell);
  };
  const bool all = std::all_of(found.held.begin(), found.held.end(), agrees) &&
                   std::all_of(found.open.begin(), found.open.end(), agrees);
  return all ? cell : Value::missing();
}

Value Scalar::list_value(std::uint64_t first, std::uint64_t count) {
  return {0, first << 32U | count, {}, State::Known};
}

Value Scalar::look_up_every(const Node& node) {
  const LookUp& lookup = program_.lookups[node.a];
  const Find& found = find(node.a, node.scoped);
  if (found.held.empty()) return found.open.empty() ? Value::none() : Value::missing();
  const std::size_t first = scratch_.size();
  rows_.assign(found.held.begin(), found.held.end());
  std::sort(rows_.begin(), rows_.end());  // in the order of the table
  for (const std::uint32_t row : rows_) {
    scratch_.push_back(program_.tables[lookup.table].cell(row, lookup.column).text);
  }
  return list_value(first, found.held.size());
}

std::vector<std::string_view> Scalar::texts(const Value& list) const {
  std::vector<std::string_view> texts;
  if (!list.known()) return texts;
  const std::size_t first = list.aux >> 32U;
  for (std::size_t i = 0; i < OrderBlock::item_count(list.aux); ++i) {
    texts.push_back(scratch_[first + i]);
  }
  return texts;
}

Truth Scalar::any_row(const Node& node) {
  const Find& found = find(node.a, node.scoped);
  if (!found.held.empty()) return Truth::True;
  return found.open.empty() ? Truth::False : Truth::Unknown;
}

// ---------------------------------------------------------------- lists

Truth Scalar::any_item(const Node& node) {
  const Value list = value(node.x);
  if (!list.known()) return list.state == State::None ? Truth::False : Truth::Unknown;
  const ListItem* items = facts_.block->items(list.aux);
  const Scope outside = scope_;
  Truth any = Truth::False;
  for (std::uint32_t i = 0; i < OrderBlock::item_count(list.aux); ++i) {
    scope_.item = &items[i];
    scope_.previous = i == 0 ? nullptr : &items[i - 1];
    if (any == Truth::Unknown) {  // and stays it, but for an item of which it is true
      if (is_true(node.y)) any = Truth::True;
    } else {
      any = p::either(any, truth(node.y));
    }
    if (any == Truth::True) break;
  }
  scope_ = outside;
  return any;
}

Value Scalar::query_list(const Query& query, const Node& node) {
  const Value list = value(query.list);
  if (!list.known()) return {0, 0, {}, list.state};
  const std::uint32_t count = OrderBlock::item_count(list.aux);
  if (query.kind == QueryKind::Number && query.where == kNoNode) {
    return Value::quantity(count, node.dimension);
  }
  const ListItem* items = facts_.block->items(list.aux);
  const Scope outside = scope_;
  // Taken out of the pool: a condition may hold a query of its own.
  std::vector<Value> amounts = std::move(amounts_);
  amounts.clear();
  bool open = false;
  for (std::uint32_t i = 0; i < count; ++i) {
    scope_.item = &items[i];
    scope_.previous = i == 0 ? nullptr : &items[i - 1];
    const Truth holds = query.where == kNoNode ? Truth::True : truth(query.where);
    open = open || holds == Truth::Unknown;
    if (holds != Truth::True) continue;
    amounts.push_back(query.value == kNoNode ? Value::quantity(1, dim::kNumber)
                                             : value(query.value));
  }
  scope_ = outside;
  const Value result = query.kind != QueryKind::Number ? total_or_median(query, amounts, open)
                       : open                          ? Value::missing()
                              : Value::quantity(static_cast<double>(amounts.size()), dim::kNumber);
  amounts_ = std::move(amounts);
  return result;
}

// ---------------------------------------------------------------- history

unsigned Scalar::sources_of(const HistoryRecord& record, const OrderFacts& facts) {
  if (record.cancelled) return 0;
  const Value& planned = facts.planned_day;
  const bool own = record.same_order(facts.id, facts.filler);
  const bool earlier = planned.known() && record.day() <= day_of(planned.number);
  const bool ordered = record.kind == EventKind::Ordered;
  const bool not_given = ordered && (record.replaced || record.fulfilled ||
                                     (record.stopped && record.stopped_at < record.when));
  const auto bit = [](QuerySource source, bool speaks) {
    return speaks ? 1U << static_cast<unsigned>(source) : 0U;
  };
  const bool active = ordered && !own && !record.replaced && is_active(record, planned);
  return bit(QuerySource::EarlierInjections, earlier && !own && !not_given) |
         bit(QuerySource::EarlierOrders, earlier && ordered && (own || !record.replaced)) |
         bit(QuerySource::ActiveOrders, active);
}

bool Scalar::reaches(const Query& query, const OrderFacts& facts) {
  return facts.since == History::kAlways ||
         p::days_between(facts.since, facts.planned_day.number) >= query.within;
}

bool Scalar::is_record_field(NodeId id) const {
  const Node& field = program_.nodes[id];
  return field.op == Op::RecordField && program_.nodes[field.x].op == Op::CurrentRecord;
}

/// A word of a record, or what a table says for one.
std::optional<Scalar::RecordTest> Scalar::record_word(NodeId id) const {
  if (is_record_field(id)) return RecordTest{static_cast<FieldId>(program_.nodes[id].a)};
  const Node& node = program_.nodes[id];
  if (!is_by_word(node)) return std::nullopt;
  const NodeId key = program_.lookups[node.a].key_node;
  if (!is_record_field(key)) return std::nullopt;
  return RecordTest{static_cast<FieldId>(program_.nodes[key].a), kNoNode, node.a};
}

/// Of `not (A and B ...)`: a conjunct that is the order's alone, or kNoNode.  Where it is false the
/// whole holds for every record.
NodeId Scalar::guard_of(NodeId where) const {
  const Node& node = program_.nodes[where];
  if (node.op != Op::Not) return kNoNode;
  NodeId left = node.x;
  while (program_.nodes[left].scoped && program_.nodes[left].op == Op::And)
    left = program_.nodes[left].x;
  return program_.nodes[left].scoped || program_.nodes[left].history ? kNoNode : left;
}

bool Scalar::plan_test(NodeId where, QueryPlan& plan) const {
  if (plan.tests.size() == kMostTests) return false;
  const Node& node = program_.nodes[where];
  const bool missing = node.op == Op::IsMissing;
  if ((missing || node.op == Op::IsGiven) && is_record_field(node.x)) {
    const auto field = static_cast<FieldId>(program_.nodes[node.x].a);
    plan.tests.push_back({field, kNoNode, kNoLookUp, missing});
    return true;
  }
  if (const NodeId guard = guard_of(where); guard != kNoNode) {
    RecordTest& test = plan.tests.emplace_back();
    test.other = guard;
    test.guard = true;
    return true;
  }
  if (node.op != Op::Equal || program_.nodes[node.x].type != Type::Word) return false;
  for (const auto& [one, other] : {std::pair(node.x, node.y), std::pair(node.y, node.x)}) {
    std::optional<RecordTest> test = record_word(one);
    if (!test || program_.nodes[other].scoped) continue;
    test->other = other;
    plan.tests.push_back(*test);
    return true;
  }
  return false;
}

void Scalar::plan_query(const Query& query, QueryPlan& plan) const {
  std::vector<NodeId> open;
  if (query.where != kNoNode) open.push_back(query.where);
  while (!open.empty()) {
    const NodeId id = open.back();
    open.pop_back();
    const Node& node = program_.nodes[id];
    if (node.op == Op::And) {
      open.push_back(node.y);
      open.push_back(node.x);
    } else if (!plan_test(id, plan)) {
      plan.whole = false;
    }
  }
  // A look-up test may be unable to tell, so what the words came to is remembered there too.
  plan.words = RecordTruths::inputs(program_, query.where);
  if (query.value == kNoNode) return;
  const Node& value = program_.nodes[query.value];
  if (value.op == Op::RecordField && program_.nodes[value.x].op == Op::CurrentRecord)
    plan.value = static_cast<FieldId>(value.a);
}

/// Lays the records of an order's patient beside one another, for each source.
void Scalar::lay_out(LaneRecords& kept, const OrderFacts& facts) {
  for (std::vector<Concerned>& records : kept.of)
    records.clear();
  for (std::size_t i = facts.records->size(); i-- > 0;) {
    const HistoryRecord& record = (*facts.records)[i];
    const unsigned sources = sources_of(record, facts);
    if (sources == 0) continue;
    const Concerned about{&record, static_cast<std::uint32_t>(i), record.substance(), record.when,
                          static_cast<double>(record.day())};
    for (std::size_t of = 0; of < kSources; ++of)
      if ((sources >> of & 1U) != 0) kept.of.at(of).push_back(about);
  }
}

/// The word that a test compares; kNoWord where it is missing, or not known without a walk.
Word Scalar::word_of(const RecordTest& test, const Concerned& about) const {
  const Word word =
      test.field == FieldId::SubstanceCode ? about.substance : about.record->word(test.field);
  if (test.lookup == kNoLookUp || word == kNoWord) return word;
  const Cell& cell = cells_[cell_slot(test.lookup, word)];
  const bool kept = cell.lookup == test.lookup && cell.key == word && cell.value.known();
  return kept ? cell.value.aux : kNoWord;
}

/// What the tests of a query say of one record: one that fails settles its condition; one that
/// cannot tell (a value is missing, a word is unknown) leaves it to the walk: Unknown.
Truth Scalar::tested(const QueryPlan& plan, const WantedWords& words,
                     const Concerned& about) const {
  bool told = plan.whole;
  for (std::size_t i = 0; i < plan.tests.size(); ++i) {
    const RecordTest& test = plan.tests[i];
    if (test.other == kNoNode) {
      const State state = about.record->value(test.field).state;
      const bool given = state == State::Known || state == State::Any;
      if (test.missing ? state != State::Missing : !given) return Truth::False;
      continue;
    }
    if (test.guard) {
      told = told && words[i] != kNoWord;
      continue;
    }
    const Word here = word_of(test, about);
    if (here == kNoWord || words[i] == kNoWord) {
      told = false;
    } else if (here != words[i]) {
      return Truth::False;
    }
  }
  return told ? Truth::True : Truth::Unknown;
}

/// What the condition comes to for a record.
Truth Scalar::holds_for(RecordRun& run, const Concerned& about) {
  const Query& query = run.query;
  if (query.where == kNoNode) return Truth::True;
  const QueryPlan& plan = plan_of(query);
  const Truth told = tested(plan, run.words, about);
  if (told != Truth::Unknown) return told;
  if (!plan.words) return walk(run, query.where, about);
  if (run.key.condition == 0)
    run.key = RecordTruths::begin(query.where, *plan.words, *run.facts.block, run.facts.lane);
  RecordTruths::complete(run.key, *plan.words, *about.record);
  if (const auto kept = record_truths_.kept(run.key)) return *kept;
  const Truth found = walk(run, query.where, about);
  if (!run.gave_up) record_truths_.keep(run.key, found);
  return found;
}

/// The truth of a condition about one record, by the tree walk.
Truth Scalar::walk(RecordRun& run, NodeId where, const Concerned& about) {
  if (!run.may_walk) {
    run.gave_up = true;
    return Truth::Unknown;
  }
  const Scope outside = scope_;
  scope_.record = about.record;
  scope_.record_index = about.index;
  const Truth found = truth(where);
  scope_ = outside;
  return found;
}

Scalar::WantedWords Scalar::wanted_by(const Query& query) {
  WantedWords words{};
  const std::vector<RecordTest>& tests = plan_of(query).tests;
  for (std::size_t i = 0; i < tests.size(); ++i) {
    if (tests[i].other == kNoNode) continue;
    if (tests[i].guard) {
      if (truth(tests[i].other) == Truth::False) words.at(i) = kPasses;
      continue;
    }
    const Value word = value(tests[i].other);
    if (word.known()) words.at(i) = word.aux;
  }
  return words;
}

Value Scalar::value_of(RecordRun& run, const Concerned& about) {
  const Query& query = run.query;
  if (query.kind == QueryKind::WeeklyDose) return weekly_dose(*about.record);
  if (query.value == kNoNode) return Value::quantity(1, dim::kNumber);
  const QueryPlan& plan = plan_of(query);
  if (plan.value) return about.record->value(*plan.value);
  run.gave_up = run.gave_up || !run.may_walk;
  if (run.gave_up) return Value::missing();
  const Scope outside = scope_;
  scope_.record = about.record;
  scope_.record_index = about.index;
  const Value found = value(query.value);
  scope_ = outside;
  return found;
}

/// False where a record from before history begins could change the answer.
template <class F>
bool Scalar::for_each_record(RecordRun& run, F&& each) {
  const Query& query = run.query;
  const OrderFacts& facts = run.facts;
  if (facts.records == nullptr || facts.records->empty()) return reaches(query, facts);
  const double now = facts.planned_day.number;
  const double planned = p::day_number(now);
  std::uint32_t seen = 0;
  for (const Concerned& about : concerned(query.source, facts)) {
    if (now - about.when > query.within + 86400.0) break;
    if ((planned - about.day) * 86400.0 > query.within) continue;
    if (query.last != 0 && seen == query.last) return true;
    ++seen;
    if (!each(about, holds_for(run, about))) return true;
  }
  return (query.last != 0 && seen == query.last) || reaches(query, facts);
}

Value Scalar::choose_record(RecordRun& run) {
  const QueryKind kind = run.query.kind;
  Value chosen = Value::none();
  bool open = false;
  const bool all = for_each_record(run, [&](const Concerned& about, Truth holds) {
    if (holds == Truth::Unknown) {
      open = true;
      return kind == QueryKind::Earliest;  // an unknown newer one could be the latest
    }
    if (holds != Truth::True) return true;
    chosen = {0, about.index, {}, State::Known};
    if (kind == QueryKind::Earliest) open = false;  // unknown newer ones do not matter
    return kind == QueryKind::Earliest;
  });
  return open || !all ? Value::missing() : chosen;
}

Value Scalar::total_or_median(const Query& query, std::vector<Value>& amounts, bool open) {
  if (open) return Value::missing();
  if (amounts.empty()) {
    return query.kind == QueryKind::Median ? Value::none()
                                           : Value{0, p::kZeroOfAnyKind, {}, State::Known};
  }
  for (const Value& v : amounts) {
    if (!v.known() || !p::same_kind(v.aux, amounts.front().aux)) return Value::missing();
  }
  Value result = amounts.front();
  result.text = {};
  if (query.kind == QueryKind::Median) {
    const auto by_number = [](const Value& a, const Value& b) { return a.number < b.number; };
    std::sort(amounts.begin(), amounts.end(), by_number);
    const std::size_t n = amounts.size();
    result.number = n % 2 == 1 ? amounts[n / 2].number
                               : (amounts[n / 2 - 1].number + amounts[n / 2].number) / 2;
    return result;
  }
  result.number = 0;
  for (const Value& v : amounts)
    result.number += v.number;
  return result;
}

Value Scalar::number_of_records(RecordRun& run, Dimension dimension) {
  std::uint32_t number = 0;
  bool open = false;
  const bool all = for_each_record(run, [&](const Concerned&, Truth holds) {
    open = open || holds == Truth::Unknown;
    if (holds == Truth::True) ++number;
    return true;
  });
  return open || !all ? Value::missing() : Value::quantity(number, dimension);
}

Value Scalar::aggregate(RecordRun& run) {
  // Taken out of the pool: a condition may hold a query of its own.
  std::vector<Value> amounts = std::move(amounts_);
  amounts.clear();
  bool open = false;
  const bool all = for_each_record(run, [&](const Concerned& about, Truth holds) {
    open = open || holds == Truth::Unknown;
    if (holds == Truth::True) amounts.push_back(value_of(run, about));
    return true;
  });
  const Value result = total_or_median(run.query, amounts, open || !all);
  amounts_ = std::move(amounts);
  return result;
}

Value Scalar::query_records(const Node& node, RecordRun& run) {
  const QueryKind kind = run.query.kind;
  if (kind == QueryKind::Latest || kind == QueryKind::Earliest) return choose_record(run);
  return kind == QueryKind::Number ? number_of_records(run, node.dimension) : aggregate(run);
}

Value Scalar::query(const Node& node) {
  const Query& query = program_.queries[node.a];
  if (query.source == QuerySource::List) return query_list(query, node);
  const WantedWords words = wanted_by(query);
  RecordRun run{query, words, facts_, true};
  return query_records(node, run);
}

Value Scalar::answer_without_records(const Node& node) {
  const Query& query = program_.queries[node.a];
  if (query.kind == QueryKind::Latest || query.kind == QueryKind::Earliest) return Value::none();
  if (query.kind == QueryKind::Number) return Value::quantity(0, node.dimension);
  amounts_.clear();
  return total_or_median(query, amounts_, false);
}

std::optional<Value> Scalar::query_without_walk(const Node& node, const WantedWords& words,
                                                const OrderFacts& facts) {
  RecordRun run{program_.queries[node.a], words, facts, false};
  const Value answer = query_records(node, run);
  return run.gave_up ? std::nullopt : std::optional(answer);
}

}  // namespace meniscus::engine
