// The syntax tree of a rule file: what was written, with places, nothing resolved.
//
// Made by:  frontend/parse.cpp, the only file that knows the ANTLR runtime.
// Read by:  check/ (names, types, dimensions) and lower/ (to engine::Program).
// Spans:    bytes, half-open, into the file's SourceText.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "engine/base/source_text.hpp"

namespace meniscus::grammar {

using engine::Span;

struct Name {
  std::string text;
  Span span;
};

enum class ExprKind : std::uint8_t {
  // literals; `text` is the source text
  Quantity,  // 5 mg, 200 mg/mL, 100 mg/5 mL, 5/8 in, 20 %, 3, 21 G
  Date,      // 2026-03-02
  String,    // "..." (text without the quotes, escapes undone)
  // names
  Path,  // a, a.b: field, define, let, setting, code, row.C, each.F, previous.F, earlier.F ...
  EngineValue,  // planned doses, supply end, plunger force ... (tokens.def has them all); text is
                // that, single-spaced
  Today,
  PlannedDay,
  AsWritten,  // kids: [path]
  // arithmetic: kids in order
  Negate,
  Add,
  Subtract,
  Multiply,
  Divide,
  RoundNearest,
  RoundUp,
  RoundDown,  // [value, step]
  DaysSince,
  DaysBetween,
  TimeSince,
  TimeBetween,  // [date]; [from, to]; [date]; [from, to]
  After,        // [duration, date]
  KindOf,
  RegionOf,
  OrElse,  // [value, other]
  IfThen,  // [condition, then, otherwise]
  // comparisons
  Less,
  LessEqual,
  Greater,
  GreaterEqual,
  Is,
  IsNot,    // [left, right]
  IsOneOf,  // [left, each right ...]
  IsNotOneOf,
  IsGiven,
  IsMissing,
  IsNone,
  IsYes,
  IsNo,  // [x]; negated forms arrive inside Not
  IsIn,
  IsNotIn,
  IsBefore,
  IsAfter,
  Between,    // [x, from, to]
  DiffersBy,  // [x, y, by]
  MultipleOf,
  NotMultipleOf,  // [x, step]
  ThinnerThan,
  WiderThan,
  Contains,
  Matches,
  Includes,
  // logic
  Not,
  And,
  Or,
  // queries
  LookUp,       // name: table; column; [where]; optional second kid: otherwise
  LookUpEvery,  // name: table; column; [where]
  AnyRow,       // name: table; [where]
  AnyOfWhere,   // [list path, condition]        (any of LIST where ...)
  AnyOf,        // [list path]                   (operand of a comparison: any of LIST is X)
  Aggregate,    // `aggregate` says which; kids: [where] or []
  Error         // could not be read; a diagnostic was given; checks stay silent about it
};

enum class AggregateKind : std::uint8_t { Latest, Earliest, Number, Total, Median, WeeklyDose };
enum class AggregateSource : std::uint8_t { EarlierInjections, EarlierOrders, ActiveOrders, List };
struct Aggregate {
  AggregateKind kind{};
  AggregateSource source{};
  Name field;  // total|median FIELD of ...
  Name list;   // List
  std::uint32_t last = 0;
  Name within;  // the duration's text, or empty
};

struct Expr;
using ExprPtr = std::unique_ptr<Expr>;

struct Expr {
  ExprKind kind{};
  Span span;  // the whole expression
  Span op;    // the operator or keyword, where there is one
  std::string text;
  std::vector<ExprPtr> kids;
  Name table;   // LookUp, LookUpEvery, AnyRow
  Name column;  // LookUp, LookUpEvery
  Aggregate aggregate;
};

struct TextPiece {
  std::string text;  // literal
  ExprPtr value;     // or {expression}
};
struct Text {
  std::vector<TextPiece> pieces;
  Span span;
};

struct GradeName {
  Name name;
};

struct Clause {
  Name grade;
  ExprPtr when;
  Text say;
  Text ask;
  std::vector<Name> blames;
  Span span;
};
struct Without {
  std::vector<Name> names;  // fields or settings
  bool ignore = false;
  Name grade;
  Text say;
  Text ask;
  Span span;
};
struct Let {
  Name name;
  ExprPtr value;
};
struct Rule {
  Name name;
  std::string title;
  ExprPtr concerns;  // null: all orders
  std::vector<Let> lets;
  std::vector<Clause> clauses;
  std::vector<Without> withouts;
  std::string cite, owner, reviewed, review_by;
  Span cite_span, reviewed_span, review_by_span;
  Span span;
  bool trial = false;
  Name from, until;  // dates of force; empty when not said
};
struct Setting {
  Name name;
  Name value;  // literal text; empty and `unset` below
  bool unset = false;
  Name least, most;
  std::string title;
  Span span;
  Name from, until;
};
struct TableDecl {
  Name name;
  std::string path;
  Span path_span;
  Span span;
  Name from, until;
};
struct ExampleField {
  Name field;
  Name text;  // literal text, quotes removed
};
struct Expectation {
  Name what;  // clear, incomplete, nothing, or a grade
  Name rule;  // empty: the order
};
struct Example {
  std::string title;
  std::vector<ExampleField> order;
  std::vector<std::vector<ExampleField>> earlier;
  std::vector<Expectation> expectations;
  Span span;
};
enum class ChangeKind : std::uint8_t { Adjust, Regrade, Mute, Retire, Extend };
struct LocalChange {
  ChangeKind kind{};
  Name target;
  Name from_grade, to_grade;  // Regrade
  Name value;                 // Adjust
  ExprPtr scope;              // Mute
  std::string path;           // Extend
  Span path_span;
  std::string because, by;
  Name until;
  Span keyword;  // its first word
  Span span;
};

struct RuleFile {
  std::vector<Setting> settings;
  std::vector<TableDecl> tables;
  std::vector<Let> defines;
  std::vector<Rule> rules;
  std::vector<Example> examples;
  std::vector<LocalChange> changes;
};

}  // namespace meniscus::grammar
