// An expression as one line of text, `(is route intravenous)`, for tests of its shape.
#pragma once

#include <string>

#include "grammar/frontend/ast.hpp"

namespace meniscus::grammar::testing {

inline std::string dates_name(ExprKind kind) {
  const bool time = kind == ExprKind::TimeSince || kind == ExprKind::TimeBetween;
  const bool since = kind == ExprKind::TimeSince || kind == ExprKind::DaysSince;
  return std::string(time ? "time" : "days") + (since ? "-since" : "-from");
}

inline std::string operator_name(ExprKind kind) {
  switch (kind) {
    case ExprKind::AsWritten:
      return "as-written";
    case ExprKind::Negate:
      return "negate";
    case ExprKind::Add:
      return "+";
    case ExprKind::Subtract:
      return "-";
    case ExprKind::Multiply:
      return "*";
    case ExprKind::Divide:
      return "/";
    case ExprKind::RoundNearest:
      return "round";
    case ExprKind::RoundUp:
      return "round-up";
    case ExprKind::RoundDown:
      return "round-down";
    case ExprKind::DaysSince:
    case ExprKind::DaysBetween:
    case ExprKind::TimeSince:
    case ExprKind::TimeBetween:
      return dates_name(kind);
    case ExprKind::After:
      return "after";
    case ExprKind::KindOf:
      return "kind-of";
    case ExprKind::RegionOf:
      return "region-of";
    case ExprKind::OrElse:
      return "or-else";
    case ExprKind::IfThen:
      return "if";
    case ExprKind::Less:
      return "<";
    case ExprKind::LessEqual:
      return "<=";
    case ExprKind::Greater:
      return ">";
    case ExprKind::GreaterEqual:
      return ">=";
    case ExprKind::Is:
      return "is";
    case ExprKind::IsNot:
      return "is-not";
    case ExprKind::IsOneOf:
      return "one-of";
    case ExprKind::IsNotOneOf:
      return "not-one-of";
    case ExprKind::IsGiven:
      return "given";
    case ExprKind::IsMissing:
      return "missing";
    case ExprKind::IsNone:
      return "none";
    case ExprKind::IsYes:
      return "yes";
    case ExprKind::IsNo:
      return "no";
    case ExprKind::IsIn:
      return "in";
    case ExprKind::IsNotIn:
      return "not-in";
    case ExprKind::IsBefore:
      return "before";
    case ExprKind::IsAfter:
      return "is-after";
    case ExprKind::Between:
      return "between";
    case ExprKind::DiffersBy:
      return "differs";
    case ExprKind::MultipleOf:
      return "multiple-of";
    case ExprKind::NotMultipleOf:
      return "not-multiple-of";
    case ExprKind::ThinnerThan:
      return "thinner";
    case ExprKind::WiderThan:
      return "wider";
    case ExprKind::Contains:
      return "contains";
    case ExprKind::Matches:
      return "matches";
    case ExprKind::Includes:
      return "includes";
    case ExprKind::Not:
      return "not";
    case ExprKind::And:
      return "and";
    case ExprKind::Or:
      return "or";
    case ExprKind::LookUp:
      return "look-up";
    case ExprKind::LookUpEvery:
      return "look-up-every";
    case ExprKind::AnyRow:
      return "any-row";
    case ExprKind::AnyOfWhere:
      return "any-of-where";
    case ExprKind::AnyOf:
      return "any-of";
    case ExprKind::Aggregate:
      return "aggregate";
    case ExprKind::Error:
      return "error";
    case ExprKind::Quantity:
    case ExprKind::Date:
    case ExprKind::String:
    case ExprKind::Path:
    case ExprKind::EngineValue:
    case ExprKind::Today:
    case ExprKind::PlannedDay:
      return "";
  }
  return "?";
}

inline std::string aggregate_name(const Aggregate& a) {
  static const char* const kKinds[] = {"latest", "earliest", "number", "total", "median", "weekly"};
  static const char* const kSources[] = {"injections", "earlier-orders", "active-orders", "list"};
  std::string out = kKinds[static_cast<int>(a.kind)];
  out += std::string(" ") + kSources[static_cast<int>(a.source)];
  if (!a.field.text.empty()) out += " field:" + a.field.text;
  if (!a.list.text.empty()) out += " list:" + a.list.text;
  if (a.last != 0) out += " last:" + std::to_string(a.last);
  if (!a.within.text.empty()) out += " within:" + a.within.text;
  return out;
}

inline std::string shape(const Expr& e) {
  const std::string name = operator_name(e.kind);
  if (name.empty()) {
    if (e.kind == ExprKind::String) return "\"" + e.text + "\"";
    const bool blanks = e.text.find(' ') != std::string::npos;
    return blanks ? "[" + e.text + "]" : e.text;
  }
  std::string out = "(" + (e.kind == ExprKind::Aggregate ? aggregate_name(e.aggregate) : name);
  if (!e.column.text.empty()) out += " " + e.column.text;
  if (!e.table.text.empty()) out += " " + e.table.text;
  for (const ExprPtr& kid : e.kids)
    out += " " + shape(*kid);
  return out + ")";
}

}  // namespace meniscus::grammar::testing
