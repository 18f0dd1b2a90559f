// See build_tree.hpp.  Each function takes one context of Rule.g4 and is named after it.
#include "grammar/frontend/build_tree.hpp"

#include <antlr4-runtime.h>

#include <string>
#include <string_view>
#include <utility>

#include "RuleParser.h"
#include "grammar/frontend/build_expr.hpp"

namespace meniscus::grammar {
namespace {

using antlr4::ParserRuleContext;
using antlr4::tree::TerminalNode;
using generated::RuleParser;

Span terminal_span(TerminalNode* node) {
  const antlr4::Token* token = node->getSymbol();
  return {static_cast<std::uint32_t>(token->getStartIndex()),
          static_cast<std::uint32_t>(token->getStopIndex() + 1)};
}

class TreeBuilder {
 public:
  TreeBuilder(RuleFile& file, Sink& sink) : file_(file), sink_(sink) {}

  void rule_file(RuleParser::RuleFileContext& c) {
    for (RuleParser::ItemContext* item : c.item()) {
      if (item->children.empty()) continue;
      auto* inner = dynamic_cast<ParserRuleContext*>(item->children.front());
      if (inner != nullptr) this->item(*inner);
    }
  }

 private:
  void item(ParserRuleContext& c) {
    switch (c.getRuleIndex()) {
      case RuleParser::RuleSetting:
        return setting(static_cast<RuleParser::SettingContext&>(c));
      case RuleParser::RuleTable:
        return table(static_cast<RuleParser::TableContext&>(c));
      case RuleParser::RuleDefine:
        return define(static_cast<RuleParser::DefineContext&>(c));
      case RuleParser::RuleRuleDecl:
        return rule(static_cast<RuleParser::RuleDeclContext&>(c));
      case RuleParser::RuleExample:
        return example(static_cast<RuleParser::ExampleContext&>(c));
      case RuleParser::RuleAdjust:
        return adjust(static_cast<RuleParser::AdjustContext&>(c));
      case RuleParser::RuleRegrade:
        return regrade(static_cast<RuleParser::RegradeContext&>(c));
      case RuleParser::RuleMute:
        return mute(static_cast<RuleParser::MuteContext&>(c));
      case RuleParser::RuleRetire:
        return retire(static_cast<RuleParser::RetireContext&>(c));
      case RuleParser::RuleExtendTable:
        return extend(static_cast<RuleParser::ExtendTableContext&>(c));
      default:
        return;
    }
  }

  // ---------------------------------------------------------------- small parts

  Name name(TerminalNode* node) {
    if (node == nullptr) return {};
    const Span span = terminal_span(node);
    return {std::string(sink_.text(span)), span};
  }
  Name name(ParserRuleContext* c) {
    if (c == nullptr || c->exception != nullptr) return {};
    const Span span = span_of(*c);
    return {std::string(sink_.text(span)), span};
  }
  std::string string(TerminalNode* node) {
    return node == nullptr ? std::string() : unquote(terminal_span(node), sink_.source());
  }
  std::vector<Name> paths(RuleParser::PathsContext* c) {
    std::vector<Name> out;
    if (c == nullptr) return out;
    for (RuleParser::PathContext* path : c->path()) {
      if (Name one = name(path); !one.text.empty()) out.push_back(std::move(one));
    }
    return out;
  }

  Text text(RuleParser::TextContext* c) {
    Text out;
    if (c == nullptr) return out;
    out.span = span_of(*c);
    for (antlr4::tree::ParseTree* child : c->children) {
      if (auto* insertion = dynamic_cast<RuleParser::InsertionContext*>(child)) {
        out.pieces.push_back({{}, build_expr(insertion->value(), sink_)});
      } else if (auto* node = dynamic_cast<TerminalNode*>(child)) {
        if (node->getSymbol()->getType() != RuleParser::TEXT) continue;
        out.pieces.push_back({plain_text(sink_.text(terminal_span(node))), nullptr});
      }
    }
    return out;
  }

  void force(RuleParser::ForceContext* c, Name& from, Name& until) {
    if (c == nullptr || c->children.empty()) return;
    if (c->FROM() != nullptr) from = name(c->DATE(0));
    if (c->UNTIL() != nullptr) until = name(c->DATE(c->FROM() != nullptr ? 1 : 0));
  }

  void twice(Span span, std::string_view what) {
    sink_.report(Code::R0403, span, "found a second `" + std::string(what) + "`",
                 "keep one of the two");
  }

  // ---------------------------------------------------------------- items

  void setting(RuleParser::SettingContext& c) {
    Setting out;
    out.name = name(c.NAME());
    out.unset = c.UNSET() != nullptr;
    out.value = literal_of(c.literal(), sink_);
    if (c.range() != nullptr) {
      out.least = literal_of(c.range()->literal(0), sink_);
      out.most = literal_of(c.range()->literal(1), sink_);
    }
    force(c.force(), out.from, out.until);
    out.title = string(c.STRING());
    out.span = span_of(c);
    if (!out.name.text.empty()) file_.settings.push_back(std::move(out));
  }

  void table(RuleParser::TableContext& c) {
    TableDecl out;
    out.name = name(c.NAME());
    out.path = string(c.STRING());
    if (c.STRING() != nullptr) out.path_span = terminal_span(c.STRING());
    force(c.force(), out.from, out.until);
    out.span = span_of(c);
    if (!out.name.text.empty()) file_.tables.push_back(std::move(out));
  }

  void define(RuleParser::DefineContext& c) {
    Let out{name(c.NAME()), build_expr(c.value(), sink_)};
    if (!out.name.text.empty()) file_.defines.push_back(std::move(out));
  }

  void rule(RuleParser::RuleDeclContext& c) {
    Rule out;
    out.name = name(c.NAME());
    out.title = string(c.STRING());
    out.span = span_of(c);
    out.trial = c.TRIAL_RULE() != nullptr;
    force(c.force(), out.from, out.until);
    if (out.trial && c.exception == nullptr && out.until.text.empty()) {
      sink_.report_unless_explained(
          Code::R0406, terminal_span(c.TRIAL_RULE()), "found a trial rule without `until`",
          "add `until 2027-01-31` after its name: the last day of the trial");
    }
    Seen seen;
    for (RuleParser::RuleLineContext* line : c.ruleLine())
      rule_line(*line, out, seen);
    const bool complete = c.exception == nullptr && !out.name.text.empty();
    if (complete && out.clauses.empty() && !sink_.has_any_in(out.span)) {
      sink_.report(Code::R0404, out.name.span,
                   "found no `raise` line in the rule `" + out.name.text + "`",
                   "write `raise GRADE when CONDITION`");
    }
    if (!out.name.text.empty()) file_.rules.push_back(std::move(out));
  }

  struct Seen {
    bool concerns = false, cite = false, owner = false, reviewed = false, review_by = false;
  };

  bool first(bool& seen, ParserRuleContext& c, std::string_view what) {
    if (std::exchange(seen, true)) {
      twice(span_of(c), what);
      return false;
    }
    return true;
  }

  void rule_line(RuleParser::RuleLineContext& c, Rule& out, Seen& seen) {
    if (auto* concerns = c.concerns()) {
      if (first(seen.concerns, *concerns, "concerns") && concerns->expr() != nullptr) {
        out.concerns = build_expr(concerns->expr(), sink_);
      }
    } else if (auto* let = c.letLine()) {
      Let made{name(let->NAME()), build_expr(let->value(), sink_)};
      if (!made.name.text.empty()) out.lets.push_back(std::move(made));
    } else if (auto* clause = c.clause()) {
      out.clauses.push_back(this->clause(*clause));
    } else if (auto* without = c.without()) {
      out.withouts.push_back(this->without(*without));
    } else {
      about_rule(c, out, seen);
    }
  }

  void about_rule(RuleParser::RuleLineContext& c, Rule& out, Seen& seen) {
    if (auto* cite = c.cite()) {
      if (!first(seen.cite, *cite, "cite")) return;
      out.cite = string(cite->STRING());
      out.cite_span = span_of(*cite);
    } else if (auto* owner = c.owner()) {
      if (first(seen.owner, *owner, "owner")) out.owner = string(owner->STRING());
    } else if (auto* reviewed = c.reviewed()) {
      if (!first(seen.reviewed, *reviewed, "reviewed")) return;
      out.reviewed = name(reviewed->DATE()).text;
      out.reviewed_span = span_of(*reviewed);
    } else if (auto* review_by = c.reviewBy()) {
      if (!first(seen.review_by, *review_by, "review by")) return;
      out.review_by = name(review_by->DATE()).text;
      out.review_by_span = span_of(*review_by);
    }
  }

  Clause clause(RuleParser::ClauseContext& c) {
    Clause out;
    out.grade = name(c.NAME());
    out.when = build_expr(c.expr(), sink_);
    out.span = span_of(c);
    bool said = false;
    bool asked = false;
    bool blamed = false;
    for (RuleParser::PartContext* part : c.part()) {
      if (part->SAY() != nullptr) {
        if (first(said, *part, "say")) out.say = text(part->text());
      } else if (part->ASK() != nullptr) {
        if (first(asked, *part, "ask")) out.ask = text(part->text());
      } else if (first(blamed, *part, "blames")) {
        out.blames = paths(part->paths());
      }
    }
    if (c.exception != nullptr || c.RAISE() == nullptr) return out;
    const Span at = terminal_span(c.RAISE());
    if (!said) {
      sink_.report_unless_explained(Code::R0401, at, "found a `raise` without a `say`",
                                    "add `say \"...\"`, the sentence that is to be shown");
    }
    if (!blamed) {
      sink_.report_unless_explained(Code::R0402, at, "found a `raise` without a `blames`",
                                    "add `blames FIELD`, the field that is to be marked");
    }
    return out;
  }

  Without without(RuleParser::WithoutContext& c) {
    Without out;
    out.names = paths(c.paths());
    out.ignore = c.IGNORE() != nullptr;
    out.grade = name(c.NAME());
    out.span = span_of(c);
    bool said = false;
    bool asked = false;
    for (RuleParser::SayingContext* saying : c.saying()) {
      if (saying->SAY() != nullptr) {
        if (first(said, *saying, "say")) out.say = text(saying->text());
      } else if (first(asked, *saying, "ask")) {
        out.ask = text(saying->text());
      }
    }
    if (c.exception == nullptr && c.RAISE() != nullptr && !said) {
      sink_.report_unless_explained(Code::R0401, terminal_span(c.RAISE()),
                                    "found a `raise` without a `say`",
                                    "add `say \"...\"`, the sentence that is to be shown");
    }
    return out;
  }

  void example(RuleParser::ExampleContext& c) {
    Example out;
    out.title = string(c.STRING());
    out.span = span_of(c);
    for (RuleParser::ExampleLineContext* line : c.exampleLine()) {
      if (line->EXPECT() != nullptr) {
        for (RuleParser::HopeContext* hope : line->hope()) {
          out.expectations.push_back({name(hope->NAME(0)), name(hope->NAME(1))});
        }
        continue;
      }
      std::vector<ExampleField> fields;
      for (RuleParser::GivenContext* given : line->given()) {
        ExampleField field{name(given->path()), literal_of(given->literal(), sink_)};
        if (!field.field.text.empty()) fields.push_back(std::move(field));
      }
      if (line->EARLIER() != nullptr) {
        out.earlier.push_back(std::move(fields));
      } else {
        for (ExampleField& field : fields)
          out.order.push_back(std::move(field));
      }
    }
    if (c.exception == nullptr && out.expectations.empty()) {
      sink_.report_unless_explained(Code::R0405, first_token(c),
                                    "found an example without an `expect`",
                                    "add `expect GRADE from RULE`, `expect clear` or the like");
    }
    file_.examples.push_back(std::move(out));
  }

  static Span first_token(ParserRuleContext& c) {
    auto* node = dynamic_cast<TerminalNode*>(c.children.empty() ? nullptr : c.children.front());
    return node == nullptr ? span_of(c) : terminal_span(node);
  }

  // ---------------------------------------------------------------- local changes

  LocalChange change(ChangeKind kind, ParserRuleContext& c, TerminalNode* target,
                     RuleParser::ReasonContext* reason) {
    LocalChange out;
    out.kind = kind;
    out.target = name(target);
    out.span = span_of(c);
    out.keyword = first_token(c);
    if (reason != nullptr) {
      const bool because = reason->BECAUSE() != nullptr;
      if (because) out.because = string(reason->STRING(0));
      if (reason->BY() != nullptr) out.by = string(reason->STRING(because ? 1 : 0));
      out.until = name(reason->DATE());
    }
    return out;
  }

  void keep(LocalChange out, ParserRuleContext& c) {
    const bool needs_end = out.kind != ChangeKind::Extend;
    const std::string_view missing = out.because.empty()                   ? "because \"...\""
                                     : out.by.empty()                      ? "by \"...\""
                                     : needs_end && out.until.text.empty() ? "until 2027-01-31"
                                                                           : "";
    if (c.exception == nullptr && !missing.empty()) {
      sink_.report_unless_explained(
          Code::R0406, out.keyword,
          "found a local change without `" + std::string(missing.substr(0, missing.find(' '))) +
              "`",
          "add `" + std::string(missing) + "`: the reason, the role that decided, the last day");
    }
    if (!out.target.text.empty()) file_.changes.push_back(std::move(out));
  }

  void adjust(RuleParser::AdjustContext& c) {
    LocalChange out = change(ChangeKind::Adjust, c, c.NAME(), c.reason());
    out.value = literal_of(c.literal(), sink_);
    keep(std::move(out), c);
  }
  void regrade(RuleParser::RegradeContext& c) {
    LocalChange out = change(ChangeKind::Regrade, c, c.NAME(0), c.reason());
    out.from_grade = name(c.NAME(1));
    out.to_grade = name(c.NAME(2));
    keep(std::move(out), c);
  }
  void mute(RuleParser::MuteContext& c) {
    LocalChange out = change(ChangeKind::Mute, c, c.NAME(), c.reason());
    if (c.expr() != nullptr) out.scope = build_expr(c.expr(), sink_);
    keep(std::move(out), c);
  }
  void retire(RuleParser::RetireContext& c) {
    keep(change(ChangeKind::Retire, c, c.NAME(), c.reason()), c);
  }
  void extend(RuleParser::ExtendTableContext& c) {
    LocalChange out = change(ChangeKind::Extend, c, c.NAME(), c.reason());
    out.path = string(c.STRING());
    if (c.STRING() != nullptr) out.path_span = terminal_span(c.STRING());
    keep(std::move(out), c);
  }

  RuleFile& file_;  // both outlive the builder
  Sink& sink_;
};

}  // namespace

std::unique_ptr<RuleFile> build_tree(ParserRuleContext& rule_file, Sink& sink) {
  auto file = std::make_unique<RuleFile>();
  TreeBuilder(*file, sink).rule_file(static_cast<RuleParser::RuleFileContext&>(rule_file));
  return file;
}

}  // namespace meniscus::grammar
