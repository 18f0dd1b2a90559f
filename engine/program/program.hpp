// A compiled rule set: plain, immutable data.
//
// Made by:   grammar/lower (text -> checked tree -> this); finished by finish_program().
// Shared:    by any number of threads; nothing in it changes after finish_program().
// Holds:     expression nodes in one flat array (children before parents, equal expressions once),
//            rules, tables, settings, vocabularies, templates.  A `let` or a `define` is just the
//            node of its expression; its name is kept for people.
// Evaluated: by eval/scalar.hpp (one order, a tree walk) and eval/columns.hpp (64 orders at once).
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/base/source_text.hpp"
#include "engine/order/field.hpp"
#include "engine/order/value.hpp"
#include "engine/order/vocabulary.hpp"
#include "engine/ports/pattern.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::engine {

using NodeId = std::uint32_t;
inline constexpr NodeId kNoNode = std::numeric_limits<NodeId>::max();

/// x, y, z are child nodes; a is an immediate.  "-> T" is the type of the node's value.
enum class Op : std::uint8_t {
  // leaves
  Constant,       // a: constants[a]                                    -> any but Truth
  Field,          // a: FieldId of the judged order                     -> by kind
  Written,        // a: FieldId; its text as written                    -> Text
  Setting,        // a: settings[a]; missing when unset                 -> its type
  ItemPart,       // a: ItemField of the current list item (each.X)     -> by kind
  PreviousPart,   // a: ItemField of the item before; missing for the first
  ItemSelf,       // the current item of a list of words or texts       -> Word or Text
  RowCell,        // a: column of the current table row                 -> column's type
  Today,          // the day the order is judged as of                  -> Date
  PlannedDay,     // schedule.start, else today                         -> Date
  Engine,         // a: EngineValue                                     -> Quantity or Date
  CurrentRecord,  // the record that a query's `where` looks at       -> Record
  // of a record
  RecordField,    // x: Record; a: FieldId (earlier.FIELD, before.FIELD)
  RecordWritten,  // x: Record; a: FieldId                             -> Text
  RecordWhen,     // x: Record; event time                             -> Date
  // arithmetic                                                        -> Quantity
  Negate,
  Add,
  Subtract,
  Multiply,
  Divide,
  RoundNearest,
  RoundUp,
  RoundDown,  // x to a multiple of y
  // dates
  DaysBetween,  // from x to y, whole calendar days (time)             -> Quantity
  TimeSince,    // clock time from x to y, else to the placed time or today -> Quantity
  DateAfter,    // x: time, y: Date; calendar-aware                    -> Date
  // words and texts
  KindOf,    // x: by-mass, by-units, by-volume                        -> Word
  RegionOf,  // x: Word of a site                                      -> Word
  // choice
  OrElse,  // x unless missing or none, else y
  Choose,  // if x (Truth) then y otherwise z
  // comparisons                                                       -> Truth
  Less,
  LessEqual,
  Greater,
  GreaterEqual,  // Quantity; Date by calendar day
  Equal,
  NotEqual,         // Quantity with tolerance, Gauge, Date by day, Word, YesNo; Text ignores case
  Between,          // x from y to z, both ends included
  DiffersByShare,   // |x - y| > z * |y|   (z a number)
  DiffersByAmount,  // |x - y| > z
  MultipleOf,       // x is a whole multiple of y, within tolerance
  ThinnerThan,
  WiderThan,  // Gauge
  IsOneOf,    // x equal to one of lists[a]; children in order
  SiteIn,     // x is y, or below y in the tree of sites
  Includes,   // band x includes y
  Contains,   // text x contains text or word y as whole words, in any case
  Matches,    // a: patterns[a]; text x
  // asking                                                            -> Truth, never unknown
  // unless said
  IsGiven,    // x known.  a = 1: x is a plain field, absence answers `no`; else absence is unknown
  IsMissing,  // x missing
  IsNone,     // x none; unknown when x is missing
  // logic                                                             -> Truth
  Not,
  And,
  Or,
  // tables and queries: a is an index into lookups / queries
  LookUp,       // one cell of the row that holds                      -> column's type
  LookUpEvery,  // the cells of all rows that hold; none if no row     -> Texts
  AnyRow,       //                                                     -> Truth
  AnyItem,      // x: list (Texts or Items); y: Truth over the item    -> Truth
  Query         // latest, number of, total ...                        -> by query
};

/// Values that the engine works out from the order and well-known tables (docs/engine-values.md).
enum class EngineValue : std::uint8_t {
  PlannedDoses,        // number
  SupplyEnd,           // day of the last planned dose
  WeeklyDose,          // weekly dose of this order: amount
  PlungerForce,        // force
  TimeToInject,        // time
  SmallestMeasurable,  // smallest measurable volume: volume
  DeliveredDoseError,  // share (number) of the dose: the next two together
  ToleranceShare,      // of the syringe's tolerance in it
  GraduationShare,     // of half a mark in it
  DeadSpaceShare,      // of what may stay behind, which is not in it
  DrawUpForce,         // force, through the needle for drawing up
  TimeToDrawUp         // time
};
struct EngineValueInfo {
  EngineValue id;
  std::string_view name;  // as written in rules: "planned doses"
  Type type;
  Dimension dimension;         // kNumber for shares; WeeklyDose varies
  std::vector<FieldId> needs;  // what it is worked out from
};
const std::vector<EngineValueInfo>& engine_values();

struct Node {
  Op op{};
  Type type{};
  bool varies = false;    // Quantity whose dimension is known only from the order
  bool history = false;   // it, or something below it, looks at earlier or active orders
  bool scoped = false;    // depends on a row, an item or a record of an enclosing query
  bool percent = false;   // shown as a percentage
  Dimension dimension{};  // Quantity, when not `varies`
  std::uint32_t a = 0;
  NodeId x = kNoNode;
  NodeId y = kNoNode;
  NodeId z = kNoNode;
};

struct Column {
  std::string name;
  Type type = Type::Word;  // Word, Text, Quantity, Gauge, YesNo, Band
  bool varies = false;     // amount, strength
  Dimension dimension;
};
/// Cells by row: cells[row * columns.size() + column].
struct Table {
  std::string name;
  std::vector<Column> columns;
  std::vector<Value> cells;
  std::vector<std::uint32_t> lines;  // line of each row in its file, for messages
  std::string file;

  [[nodiscard]] std::size_t rows() const {
    return columns.empty() ? 0 : cells.size() / columns.size();
  }
  [[nodiscard]] const Value& cell(std::size_t row, std::size_t column) const {
    return cells[row * columns.size() + column];
  }
  [[nodiscard]] std::optional<std::size_t> column(std::string_view name) const;
};
/// Upper end of a Band cell (exclusive); infinity for "any".
double band_end(const Value& band);
Value make_band(double from, double end, Dimension dimension);

/// A look-up's condition.  `key` and `key_node` are set when the condition has, as a conjunct,
/// `row.C is E` with E free of the row: rows are then found by hash first.  `where` is always the
/// whole condition.
struct LookUp {
  std::uint32_t table = 0;
  std::uint32_t column = 0;  // of the result; unused for AnyRow
  NodeId where = kNoNode;
  NodeId otherwise = kNoNode;
  std::optional<std::uint32_t> key;  // column
  NodeId key_node = kNoNode;

  // filled by finish_program(): a conjunct asks whether one of `texts` contains the row's cell of
  // `text_column`; rows whose first word is in none of them need not be looked at.
  std::optional<std::uint32_t> text_column;
  std::vector<NodeId> texts;
  bool one_open_row_is_enough = false;  // nobody asks for a cell: only whether a row is open
  bool one_row_is_enough = false;       // nobody asks which rows there are: only whether one is
};

enum class QuerySource : std::uint8_t { EarlierInjections, EarlierOrders, ActiveOrders, List };
enum class QueryKind : std::uint8_t { Latest, Earliest, Number, Total, Median, WeeklyDose };
struct Query {
  QueryKind kind{};
  QuerySource source{};
  NodeId list = kNoNode;            // List
  std::uint32_t last = 0;           // `last N`; 0: all
  double within = 400.0 * 86400.0;  // seconds back from the planned day
  NodeId where = kNoNode;
  NodeId value = kNoNode;  // Total, Median: RecordField of CurrentRecord, or ItemPart
};

struct Template {
  struct Piece {
    std::string text;  // literal, when node is kNoNode
    NodeId node = kNoNode;
    std::optional<FieldId> field;  // the node is a plain field: shown as written
  };
  std::vector<Piece> pieces;
  [[nodiscard]] bool empty() const { return pieces.empty(); }
};

struct Clause {
  Grade grade{};
  NodeId when = kNoNode;
  Template say;
  Template ask;
  std::vector<FieldId> blames;
  std::uint32_t line = 0;
};
struct Without {
  std::vector<FieldId> fields;
  std::vector<std::uint32_t> settings;
  bool ignore = false;
  Grade grade{};
  Template say;
  Template ask;
  std::uint32_t line = 0;
};
/// Hides what a rule finds where `scope` holds; where that is unknown, it hides nothing.
struct Mute {
  NodeId scope = kNoNode;  // kNoNode: everywhere
  std::uint32_t change = 0;
};
struct Rule {
  std::string name;
  std::string title;
  NodeId concerns = kNoNode;  // kNoNode: all orders
  std::vector<Clause> clauses;
  std::vector<Without> withouts;
  std::string cite;
  std::string owner;
  std::optional<std::int64_t> reviewed;  // days since 1970-01-01
  std::optional<std::int64_t> review_by;
  std::vector<std::pair<std::string, NodeId>> lets;  // for people
  FieldSet reads;
  bool history = false;  // some clause or `concerns` looks at history
  std::vector<Mute> mutes;
  std::optional<std::uint32_t> trial;  // the change that puts it on trial
  std::string file;
  std::uint32_t line = 0;
  std::string text;  // the rule's own source, for `rules show`
};

struct Setting {
  std::string name;
  std::string title;
  Value value;  // missing when unset
  Type type = Type::Quantity;
  Dimension dimension;
  bool percent = false;
  std::optional<double> least;
  std::optional<double> most;
  std::string least_text;  // as written: "1 in"
  std::string most_text;
};

/// Where an expression stands in the rules.  Equal expressions are one node with several places.
struct Spelling {
  NodeId node = kNoNode;
  std::uint32_t source = 0;  // of Program::sources
  Span span;
};

/// The longest that what a site decides may run, in days: a local change or a trial from the rules'
/// day on, an answer from the day on which it was given.  Our policy: about once a year.
inline constexpr std::int64_t kLongestDecision = 400;

enum class ChangeKind : std::uint8_t { Adjust, Regrade, Mute, Retire, Extend, Trial };
std::string_view name(ChangeKind kind);

/// A change that the site makes to the rules, or a rule on trial: what reports say about it.
struct LocalChange {
  ChangeKind kind{};
  std::string target;   // the rule, setting or table
  std::string what;     // as written, without its reason: "regrade x from clarify to note"
  std::string note;     // what else is to be known about it; mostly empty
  std::string because;  // of a trial: its title
  std::string by;       // a role; of a trial: its owner
  std::optional<std::int64_t> until;  // its last day, since 1970-01-01
  bool over = false;                  // ended before the rules' day: not in force
  std::string file;
  std::uint32_t line = 0;
};

/// One `order` or `earlier` line of an example: field and its text, read by the order model.
struct ExampleField {
  FieldId field{};
  std::string text;
};
struct ExampleOrder {
  std::vector<ExampleField> fields;
};
struct Expectation {
  std::optional<Outcome> outcome;  // clear, incomplete, or a grade that `rule` must give
  bool nothing = false;            // `expect nothing [from RULE]`: no finding
  std::string rule;                // empty: the order's outcome
};
/// "hold from dose-range", as a rule file says it.
std::string expect_text(const Expectation& expectation);
/// Sets what a word expects: a grade, `clear`, `incomplete` or `nothing`; false for any other.
bool set_expected(Expectation& expectation, std::string_view word);

struct Example {
  std::string title;
  ExampleOrder order;
  std::vector<ExampleOrder> earlier;
  std::vector<Expectation> expectations;
  std::optional<std::int64_t> as_of;  // the day it is judged as of, where it says one
  bool in_table = false;              // a row of a *.cases.csv
  std::string file;
  std::uint32_t line = 0;
};

/// Copies share the texts; of a copy, single nodes may be changed before it is used.
struct Program {
  std::vector<Node> nodes;
  std::vector<Value> constants;
  std::vector<std::vector<NodeId>> lists;
  std::vector<std::shared_ptr<const Pattern>> patterns;
  std::vector<LookUp> lookups;
  std::vector<Query> queries;
  std::vector<Table> tables;
  std::vector<Setting> settings;
  std::vector<std::pair<std::string, NodeId>> defines;
  std::vector<Rule> rules;
  std::vector<Rule> aside;           // retired, or not in force on `rules_day`: head and text only
  std::vector<LocalChange> changes;  // in the order of the files; those that have ended too
  bool mute_hold = false;            // mutes hide findings of `hold` too
  std::int64_t rules_day = 0;        // the day that the rules are those of, since 1970-01-01
  std::vector<Example> examples;
  std::vector<std::shared_ptr<const SourceText>> sources;  // rule files
  std::vector<Spelling> spellings;                         // by node, then as they stand
  std::array<Vocabulary, kFieldCount> vocabularies;        // empty where a field has none
  double look_back = 0;  // seconds: how far back the rules look; 0 when none looks
  std::string hash;      // "sha256:..." over sources and tables

  // filled by finish_program()
  std::vector<std::unordered_multimap<Word, std::uint32_t>> row_index;  // per lookup with a key
  std::vector<std::vector<std::uint32_t>> any_rows;   // per lookup: rows whose key cell is `any`
  std::vector<std::vector<std::uint64_t>> word_bits;  // per lookup with a text column: by row
  std::vector<std::uint32_t> find_of;  // per lookup: equal table and condition, equal number
  std::uint32_t find_count = 0;
  FieldSet history_fields;         // what a remembered order must keep
  FieldSet history_written;        // and of these, as text
  std::vector<Word> other_routes;  // sorted: routes of table `routes` that are no injection
  std::unordered_map<Word, Word> site_parent;
  std::unordered_map<Word, std::pair<Word, std::string>> site_region;

  /// Strings that Values point into (table cells, constants) live here; addresses are stable.
  std::vector<std::shared_ptr<const std::string>> texts;  // shared with copies of the program
  std::string_view keep(std::string text) {
    texts.push_back(std::make_shared<const std::string>(std::move(text)));
    return *texts.back();
  }
  [[nodiscard]] const Table* table(std::string_view name) const;
};

/// Builds the indexes (rows by key, the tree of sites), the vocabularies (from the tables `words`,
/// `routes`, `sites`, `vehicles`, `allergens`, `substances`: first column and `synonyms`),
/// `history`, `scoped` and `look_back`.  Call once, before the program is shared.
void finish_program(Program& program);

/// The program as text, one node a line: for golden tests and for people.
std::string print(const Program& program);

}  // namespace meniscus::engine
