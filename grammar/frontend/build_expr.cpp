// See build_expr.hpp.  Each function takes one context of Rule.g4 and is named after it.
#include "grammar/frontend/build_expr.hpp"

#include <antlr4-runtime.h>

#include <charconv>
#include <utility>

#include "RuleParser.h"

namespace meniscus::grammar {
namespace {

using antlr4::ParserRuleContext;
using antlr4::tree::ParseTree;
using antlr4::tree::TerminalNode;
using generated::RuleParser;

Span token_span(const antlr4::Token* token) {
  return {static_cast<std::uint32_t>(token->getStartIndex()),
          static_cast<std::uint32_t>(token->getStopIndex() + 1)};
}

Span terminal_span(TerminalNode* node) { return token_span(node->getSymbol()); }

/// Null for what is the context of a rule.
TerminalNode* terminal(ParseTree* tree) { return dynamic_cast<TerminalNode*>(tree); }

/// The context that a tree is which is no terminal.
ParserRuleContext* context_of(ParseTree* tree) { return static_cast<ParserRuleContext*>(tree); }

ExprPtr make(ExprKind kind, Span span) {
  auto expr = std::make_unique<Expr>();
  expr->kind = kind;
  expr->span = span;
  return expr;
}

ExprPtr join(ExprKind kind, Span op, ExprPtr left, ExprPtr right) {
  ExprPtr expr = make(kind, {left->span.begin, std::max(left->span.end, right->span.end)});
  expr->op = op;
  expr->kids.push_back(std::move(left));
  expr->kids.push_back(std::move(right));
  return expr;
}

ExprPtr wrap(ExprKind kind, Span op, ExprPtr kid) {
  ExprPtr expr = make(kind, {std::min(op.begin, kid->span.begin), std::max(op.end, kid->span.end)});
  expr->op = op;
  expr->kids.push_back(std::move(kid));
  return expr;
}

/// An operator between two operands; the higher its level, the tighter it binds.
struct Operator {
  ExprKind kind = ExprKind::Error;
  int level = 0;
};

Operator operator_of(std::size_t type) {
  switch (type) {
    case RuleParser::OR:
      return {ExprKind::Or, 1};
    case RuleParser::AND:
      return {ExprKind::And, 2};
    case RuleParser::OR_ELSE:
      return {ExprKind::OrElse, 1};
    case RuleParser::LATER:
      return {ExprKind::After, 2};
    case RuleParser::ROUNDED:
      return {ExprKind::RoundNearest, 3};
    case RuleParser::PLUS:
      return {ExprKind::Add, 4};
    case RuleParser::MINUS:
      return {ExprKind::Subtract, 4};
    case RuleParser::STAR:
      return {ExprKind::Multiply, 5};
    default:  // SLASH, the one that is left
      return {ExprKind::Divide, 5};
  }
}

/// Joins operands and operators as they come.
class Chain {
 public:
  explicit Chain(ExprKind prefix) : prefix_(prefix) {}

  /// An operand, behind its prefixes.
  void add(ExprPtr operand) {
    for (; !prefixes_.empty(); prefixes_.pop_back())
      operand = wrap(prefix_, prefixes_.back(), std::move(operand));
    operands_.push_back(std::move(operand));
  }
  /// A prefix, an operator, or one more word of `rounded down to`.
  void add(std::size_t type, Span span) {
    const bool operand_is_due = operands_.size() == open_.size();
    if (!operand_is_due) {
      const Operator op = operator_of(type);
      join_from(op.level);
      open_.push_back({op, span});
    } else if (type == RuleParser::UP || type == RuleParser::DOWN || type == RuleParser::TO) {
      if (type == RuleParser::UP) open_.back().op.kind = ExprKind::RoundUp;
      if (type == RuleParser::DOWN) open_.back().op.kind = ExprKind::RoundDown;
      open_.back().span.end = span.end;
    } else {
      prefixes_.push_back(span);
    }
  }
  ExprPtr take() {
    join_from(0);
    return std::move(operands_.back());
  }

 private:
  struct Open {
    Operator op;
    Span span;
  };

  /// Joins what waits and binds at least as tightly.
  void join_from(int level) {
    for (; !open_.empty() && open_.back().op.level >= level; open_.pop_back()) {
      ExprPtr right = std::move(operands_.back());
      operands_.pop_back();
      operands_.back() = join(open_.back().op.kind, open_.back().span, std::move(operands_.back()),
                              std::move(right));
    }
  }

  ExprKind prefix_;
  std::vector<Span> prefixes_;
  std::vector<ExprPtr> operands_;
  std::vector<Open> open_;  // one fewer than operands, or as many where an operand is to come
};

class Builder {
 public:
  explicit Builder(Sink& sink) : sink_(sink) {}

  ExprPtr any(ParserRuleContext* context) {
    if (context == nullptr) return make(ExprKind::Error, {});
    switch (context->getRuleIndex()) {
      case RuleParser::RuleValue:
        return value(static_cast<RuleParser::ValueContext*>(context));
      case RuleParser::RuleExpr:
        return expr(static_cast<RuleParser::ExprContext*>(context));
      case RuleParser::RuleEither:
        return either(static_cast<RuleParser::EitherContext*>(context));
      case RuleParser::RulePath:
        return path(static_cast<RuleParser::PathContext*>(context));
      default:
        return make(ExprKind::Error, span_of(*context));
    }
  }

  Name name(TerminalNode* node) {
    if (node == nullptr) return {};
    const Span span = terminal_span(node);
    return {std::string(sink_.text(span)), span};
  }
  Name name(ParserRuleContext* context) {
    if (context == nullptr || context->exception != nullptr) return {};
    const Span span = span_of(*context);
    return {std::string(sink_.text(span)), span};
  }

 private:
  static bool unread(ParserRuleContext* context) {
    return context == nullptr || context->exception != nullptr;
  }
  static ExprPtr error(ParserRuleContext* context) {
    return make(ExprKind::Error, context == nullptr ? Span{} : span_of(*context));
  }

  ExprPtr value(RuleParser::ValueContext* c) {
    if (unread(c)) return error(c);
    ParserRuleContext* const only = context_of(c->children.front());
    return only->getRuleIndex() == RuleParser::RuleQuery
               ? query(static_cast<RuleParser::QueryContext*>(only))
               : expr(static_cast<RuleParser::ExprContext*>(only));
  }

  ExprPtr expr(RuleParser::ExprContext* c) {
    if (unread(c)) return error(c);
    if (c->children.size() == 1)
      return either(static_cast<RuleParser::EitherContext*>(c->children.front()));
    ExprPtr out = make(ExprKind::IfThen, span_of(*c));
    out->op = terminal_span(c->IF());
    out->kids.push_back(either(c->either()));
    out->kids.push_back(expr(c->expr(0)));
    out->kids.push_back(expr(c->expr(1)));
    return out;
  }

  /// prefix* operand (operator prefix* operand)*: tighter operators first, equal ones from the
  /// left.
  template <class Context, class Operand>
  ExprPtr chain(Context* c, ExprKind prefix, Operand operand) {
    if (unread(c)) return error(c);
    if (c->children.size() == 1) return operand(c->children.front());
    Chain chain(prefix);
    for (ParseTree* child : c->children) {
      if (TerminalNode* node = terminal(child)) {
        chain.add(node->getSymbol()->getType(), terminal_span(node));
      } else {
        chain.add(operand(child));
      }
    }
    return chain.take();
  }

  ExprPtr either(RuleParser::EitherContext* c) {
    return chain(c, ExprKind::Not, [this](ParseTree* t) {
      return comparison(static_cast<RuleParser::ComparisonContext*>(t));
    });
  }

  ExprPtr comparison(RuleParser::ComparisonContext* c) {
    if (unread(c)) return error(c);
    ExprPtr left = terms(static_cast<RuleParser::TermsContext*>(c->children.front()));
    if (c->children.size() == 1) return left;
    if (TerminalNode* matches = terminal(c->children[1])) {
      ExprPtr pattern = make(ExprKind::String, terminal_span(c->STRING()));
      pattern->text = unquote(pattern->span, sink_.source());
      return join(ExprKind::Matches, terminal_span(matches), std::move(left), std::move(pattern));
    }
    return tail(context_of(c->children[1]), std::move(left));
  }

  ExprPtr tail(ParserRuleContext* c, ExprPtr left) {
    switch (c->getRuleIndex()) {
      case RuleParser::RuleCompareTo:
        return compare_to(static_cast<RuleParser::CompareToContext*>(c), std::move(left));
      case RuleParser::RuleIsTail:
        return is_tail(static_cast<RuleParser::IsTailContext*>(c), std::move(left));
      case RuleParser::RuleBetweenTail:
        return between(static_cast<RuleParser::BetweenTailContext*>(c), std::move(left));
      default:  // the one that is left
        return differs(static_cast<RuleParser::DiffersTailContext*>(c), std::move(left));
    }
  }

  static ExprKind comparison_kind(std::size_t type) {
    switch (type) {
      case RuleParser::LESS:
        return ExprKind::Less;
      case RuleParser::LESS_EQUAL:
        return ExprKind::LessEqual;
      case RuleParser::GREATER:
        return ExprKind::Greater;
      case RuleParser::GREATER_EQUAL:
        return ExprKind::GreaterEqual;
      case RuleParser::THINNER_THAN:
        return ExprKind::ThinnerThan;
      case RuleParser::WIDER_THAN:
        return ExprKind::WiderThan;
      case RuleParser::CONTAINS:
        return ExprKind::Contains;
      case RuleParser::INCLUDES:
        return ExprKind::Includes;
      default:
        return ExprKind::Error;
    }
  }

  ExprPtr compare_to(RuleParser::CompareToContext* c, ExprPtr left) {
    if (unread(c)) return error(c);
    const antlr4::Token* op = c->getStart();
    return join(comparison_kind(op->getType()), token_span(op), std::move(left), terms(c->terms()));
  }

  ExprPtr between(RuleParser::BetweenTailContext* c, ExprPtr left) {
    if (unread(c)) return error(c);
    ExprPtr out =
        join(ExprKind::Between, terminal_span(c->BETWEEN()), std::move(left), terms(c->terms(0)));
    out->kids.push_back(terms(c->terms(1)));
    out->span.end = std::max(out->span.end, out->kids.back()->span.end);
    return out;
  }

  ExprPtr differs(RuleParser::DiffersTailContext* c, ExprPtr left) {
    if (unread(c)) return error(c);
    ExprPtr out = join(ExprKind::DiffersBy, terminal_span(c->DIFFERS_FROM()), std::move(left),
                       terms(c->terms(0)));
    out->kids.push_back(terms(c->terms(1)));
    out->span.end = std::max(out->span.end, out->kids.back()->span.end);
    return out;
  }

  ExprPtr is_tail(RuleParser::IsTailContext* c, ExprPtr left) {
    if (unread(c)) return error(c);
    TerminalNode* negation = c->NOT();
    const bool negated = negation != nullptr;
    const Span op{terminal_span(c->IS()).begin,
                  negated ? terminal_span(negation).end : terminal_span(c->IS()).end};
    if (c->compareTo() != nullptr)
      return maybe_not(negation, compare_to(c->compareTo(), std::move(left)));
    if (c->betweenTail() != nullptr)
      return maybe_not(negation, between(c->betweenTail(), std::move(left)));
    if (c->ONE_OF() != nullptr) return one_of(c, op, negated, std::move(left));
    if (TerminalNode* word = asked_word(c)) {
      ExprPtr asked =
          wrap(asked_kind(word->getSymbol()->getType()), terminal_span(word), std::move(left));
      return maybe_not(negation, std::move(asked));
    }
    return is_compared(c, op, std::move(left));
  }

  /// `e`, or its contrary when NOT stands before it.
  ExprPtr maybe_not(TerminalNode* negation, ExprPtr e) {
    if (negation == nullptr) return e;
    return wrap(ExprKind::Not, terminal_span(negation), std::move(e));
  }

  /// is [not] [in | multiple of | before | after] X
  ExprPtr is_compared(RuleParser::IsTailContext* c, Span op, ExprPtr left) {
    const bool negated = c->NOT() != nullptr;
    ExprPtr right = terms(c->terms(0));
    if (c->IN() != nullptr) {
      return join(negated ? ExprKind::IsNotIn : ExprKind::IsIn,
                  {op.begin, terminal_span(c->IN()).end}, std::move(left), std::move(right));
    }
    if (c->MULTIPLE_OF() != nullptr) {
      return join(negated ? ExprKind::NotMultipleOf : ExprKind::MultipleOf,
                  {op.begin, terminal_span(c->MULTIPLE_OF()).end}, std::move(left),
                  std::move(right));
    }
    if (c->BEFORE() != nullptr || c->AFTER() != nullptr) {
      const bool before = c->BEFORE() != nullptr;
      TerminalNode* word = before ? c->BEFORE() : c->AFTER();
      return maybe_not(
          c->NOT(), join(before ? ExprKind::IsBefore : ExprKind::IsAfter,
                         {op.begin, terminal_span(word).end}, std::move(left), std::move(right)));
    }
    return join(negated ? ExprKind::IsNot : ExprKind::Is, op, std::move(left), std::move(right));
  }

  ExprPtr one_of(RuleParser::IsTailContext* c, Span op, bool negated, ExprPtr left) {
    ExprPtr out = make(negated ? ExprKind::IsNotOneOf : ExprKind::IsOneOf,
                       {left->span.begin, span_of(*c).end});
    out->op = {op.begin, terminal_span(c->ONE_OF()).end};
    out->kids.push_back(std::move(left));
    for (RuleParser::TermsContext* item : c->terms())
      out->kids.push_back(terms(item));
    return out;
  }

  static TerminalNode* asked_word(RuleParser::IsTailContext* c) {
    for (TerminalNode* node : {c->GIVEN(), c->MISSING(), c->NONE(), c->YES(), c->NO()}) {
      if (node != nullptr) return node;
    }
    return nullptr;
  }
  static ExprKind asked_kind(std::size_t type) {
    switch (type) {
      case RuleParser::GIVEN:
        return ExprKind::IsGiven;
      case RuleParser::MISSING:
        return ExprKind::IsMissing;
      case RuleParser::NONE:
        return ExprKind::IsNone;
      case RuleParser::YES:
        return ExprKind::IsYes;
      default:
        return ExprKind::IsNo;
    }
  }

  ExprPtr terms(RuleParser::TermsContext* c) {
    return chain(c, ExprKind::Negate, [this](ParseTree* t) {
      return primary(static_cast<RuleParser::PrimaryContext*>(t));
    });
  }

  ExprPtr primary(RuleParser::PrimaryContext* c) {
    if (unread(c)) return error(c);
    TerminalNode* word = terminal(c->children.front());
    if (word == nullptr) {
      ParserRuleContext* const only = context_of(c->children.front());
      return only->getRuleIndex() == RuleParser::RuleQuantity
                 ? quantity(static_cast<RuleParser::QuantityContext*>(only))
                 : place(static_cast<RuleParser::PlaceContext*>(only));
    }
    switch (word->getSymbol()->getType()) {
      case RuleParser::STRING: {
        ExprPtr out = make(ExprKind::String, terminal_span(word));
        out->text = unquote(out->span, sink_.source());
        return out;
      }
      case RuleParser::DAYS_SINCE:
        return of_place(ExprKind::DaysSince, c, word);
      case RuleParser::TIME_SINCE:
        return of_place(ExprKind::TimeSince, c, word);
      case RuleParser::KIND_OF:
        return of_place(ExprKind::KindOf, c, word);
      case RuleParser::REGION_OF:
        return of_place(ExprKind::RegionOf, c, word);
      case RuleParser::DAYS_FROM:
        return of_places(ExprKind::DaysBetween, c, word);
      case RuleParser::TIME_FROM:
        return of_places(ExprKind::TimeBetween, c, word);
      default:  // ANY_OF, the one that is left
        break;
    }
    ExprPtr out = make(ExprKind::AnyOf, span_of(*c));
    out->op = terminal_span(word);
    out->kids.push_back(path(c->path()));
    return out;
  }

  /// Of two dates.
  ExprPtr of_places(ExprKind kind, RuleParser::PrimaryContext* c, TerminalNode* word) {
    ExprPtr out = of_place(kind, c, word);
    out->kids.push_back(place(c->place(1)));
    return out;
  }

  ExprPtr of_place(ExprKind kind, RuleParser::PrimaryContext* c, TerminalNode* word) {
    ExprPtr out = make(kind, span_of(*c));
    out->op = terminal_span(word);
    out->kids.push_back(place(c->place(0)));
    return out;
  }

  ExprPtr quantity(RuleParser::QuantityContext* c) {
    if (unread(c)) return error(c);
    ExprPtr out = make(ExprKind::Quantity, span_of(*c));
    out->text = std::string(sink_.text(out->span));
    return out;
  }

  ExprPtr path(RuleParser::PathContext* c) {
    if (unread(c)) return error(c);
    ExprPtr out = make(ExprKind::Path, span_of(*c));
    out->text = std::string(sink_.text(out->span));
    return out;
  }

  ExprPtr place(RuleParser::PlaceContext* c) {
    if (unread(c)) return error(c);
    TerminalNode* word = terminal(c->children.front());
    if (word == nullptr) {
      ExprPtr field = path(static_cast<RuleParser::PathContext*>(c->children.front()));
      if (c->children.size() == 1) return field;
      return wrap(ExprKind::AsWritten, terminal_span(c->AS_WRITTEN()), std::move(field));
    }
    const std::size_t type = word->getSymbol()->getType();
    if (type == RuleParser::LPAREN) {
      ExprPtr inner = value(c->value());
      inner->span = span_of(*c);
      return inner;
    }
    const auto kind = type == RuleParser::DATE          ? ExprKind::Date
                      : type == RuleParser::TODAY       ? ExprKind::Today
                      : type == RuleParser::PLANNED_DAY ? ExprKind::PlannedDay
                                                        : ExprKind::EngineValue;
    ExprPtr out = make(kind, span_of(*c));
    out->text = single_spaced(sink_.text(out->span));
    return out;
  }

  static std::string single_spaced(std::string_view text) {
    std::string out;
    for (const char c : text) {
      const bool blank = c == ' ' || c == '\n' || c == '\r' || c == '\t';
      if (!blank) out += c;
      if (blank && !out.empty() && out.back() != ' ') out += ' ';
    }
    return out;
  }

  // ---------------------------------------------------------------- queries

  ExprPtr query(RuleParser::QueryContext* c) {
    if (unread(c)) return error(c);
    TerminalNode* word = terminal(c->children.front());
    const std::size_t type = word->getSymbol()->getType();
    switch (type) {
      case RuleParser::LOOK_UP:
      case RuleParser::LOOK_UP_EVERY:
      case RuleParser::ANY_ROW_OF:
        return table_query(c, type, word);
      case RuleParser::ANY_PART_OF: {
        ExprPtr out = make(ExprKind::AnyOfWhere, span_of(*c));
        out->op = terminal_span(word);
        out->kids.push_back(path(c->path(0)));
        out->kids.push_back(where(c->where()));
        return out;
      }
      default:
        return aggregate(c, type, word);
    }
  }

  ExprPtr where(RuleParser::WhereContext* c) { return unread(c) ? error(c) : either(c->either()); }

  ExprPtr table_query(RuleParser::QueryContext* c, std::size_t type, TerminalNode* word) {
    const bool any_row = type == RuleParser::ANY_ROW_OF;
    ExprPtr out = make(any_row                       ? ExprKind::AnyRow
                       : type == RuleParser::LOOK_UP ? ExprKind::LookUp
                                                     : ExprKind::LookUpEvery,
                       span_of(*c));
    out->op = terminal_span(word);
    if (any_row) {
      out->table = name(c->NAME(0));
    } else {
      out->column = name(c->NAME(0));
      out->table = name(c->NAME(1));
    }
    out->kids.push_back(where(c->where()));
    if (c->OTHERWISE() != nullptr) out->kids.push_back(expr(c->expr()));
    return out;
  }

  static AggregateKind aggregate_kind(std::size_t type) {
    switch (type) {
      case RuleParser::LATEST:
        return AggregateKind::Latest;
      case RuleParser::EARLIEST:
        return AggregateKind::Earliest;
      case RuleParser::NUMBER_OF:
        return AggregateKind::Number;
      case RuleParser::TOTAL:
        return AggregateKind::Total;
      case RuleParser::MEDIAN:
        return AggregateKind::Median;
      default:
        return AggregateKind::WeeklyDose;
    }
  }

  ExprPtr aggregate(RuleParser::QueryContext* c, std::size_t type, TerminalNode* word) {
    ExprPtr out = make(ExprKind::Aggregate, span_of(*c));
    out->op = terminal_span(word);
    out->aggregate.kind = aggregate_kind(type);
    const bool over_list = c->LIST() != nullptr;
    if (type == RuleParser::TOTAL || type == RuleParser::MEDIAN) {
      out->aggregate.field = name(c->path(0));
    }
    if (over_list) {
      out->aggregate.source = AggregateSource::List;
      out->aggregate.list = name(c->path(1));
      return out;
    }
    if (c->last() != nullptr) out->aggregate.last = last(c->last());
    source(c->source(), *out);
    return out;
  }

  std::uint32_t last(RuleParser::LastContext* c) {
    if (unread(c)) return 0;
    const Span span = terminal_span(c->NUMBER());
    const std::string_view text = sink_.text(span);
    constexpr std::uint32_t kMost = 1000;
    std::uint32_t count = 0;
    const auto [end, errc] = std::from_chars(text.data(), text.data() + text.size(), count);
    const bool whole = errc == std::errc() && end == text.data() + text.size();
    if (whole && count > 0 && count <= kMost) return count;
    sink_.report(Code::R0114, span,
                 "found `" + std::string(text) + "` where a whole number from 1 to 1000 is needed",
                 "write as in `last 3 earlier injections`");
    return 1;
  }

  void source(RuleParser::SourceContext* c, Expr& out) {
    if (unread(c)) {
      out.kind = ExprKind::Error;
      return;
    }
    out.aggregate.source = c->ACTIVE_ORDERS() != nullptr    ? AggregateSource::ActiveOrders
                           : c->EARLIER_ORDERS() != nullptr ? AggregateSource::EarlierOrders
                                                            : AggregateSource::EarlierInjections;
    if (c->quantity() != nullptr) out.aggregate.within = name(c->quantity());
    if (c->where() != nullptr) out.kids.push_back(where(c->where()));
  }

  Sink& sink_;  // outlives the builder
};

}  // namespace

Span span_of(const ParserRuleContext& context) {
  const auto& c = const_cast<ParserRuleContext&>(context);  // NOLINT: getters are not const
  const antlr4::Token* start = c.start;
  const antlr4::Token* stop = c.stop;
  if (start == nullptr) return {};
  const Span first = token_span(start);
  if (stop == nullptr || stop->getStopIndex() + 1 < start->getStartIndex()) return first;
  return {first.begin, std::max(first.end, token_span(stop).end)};
}

std::string unquote(Span token, const engine::SourceText& source) {
  std::string_view text = source.slice(token);
  const bool curly = text.starts_with("\xE2\x80");
  const char quote = text.empty() ? '"' : text.front();
  text.remove_prefix(std::min<std::size_t>(curly ? 3 : 1, text.size()));
  if (curly && text.size() >= 3) {
    text.remove_suffix(3);
  } else if (!text.empty() && text.back() == quote) {
    text.remove_suffix(1);
  }
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool escape =
        text[i] == '\\' && i + 1 < text.size() && (text[i + 1] == '"' || text[i + 1] == '\\');
    if (escape) ++i;
    out += text[i];
  }
  return out;
}

std::string plain_text(std::string_view written) {
  std::string out;
  for (std::size_t i = 0; i < written.size(); ++i) {
    const char c = written[i];
    const char next = i + 1 < written.size() ? written[i + 1] : '\0';
    const bool doubled = (c == '{' || c == '}') && next == c;
    const bool escape = c == '\\' && (next == '"' || next == '\\');
    if (escape || doubled) ++i;
    out += written[i];
  }
  return out;
}

ExprPtr build_expr(ParserRuleContext* context, Sink& sink) { return Builder(sink).any(context); }

Name literal_of(ParserRuleContext* literal, Sink& sink) {
  auto* c = static_cast<RuleParser::LiteralContext*>(literal);
  if (c == nullptr || c->exception != nullptr) return {};
  const Span span = span_of(*c);
  if (c->STRING() != nullptr) return {unquote(span, sink.source()), span};
  return {std::string(sink.text(span)), span};
}

}  // namespace meniscus::grammar
