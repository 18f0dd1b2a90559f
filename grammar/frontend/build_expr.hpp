// Expressions of the generated parser's tree -> Expr, and small helpers on contexts and tokens.
#pragma once

#include <string>
#include <string_view>

#include "engine/base/source_text.hpp"
#include "grammar/frontend/ast.hpp"
#include "grammar/frontend/sink.hpp"

namespace antlr4 {
class ParserRuleContext;
}  // namespace antlr4

namespace meniscus::grammar {

/// Takes: a context of `value`, `expr`, `either` or `path`; null or one that could not be read
/// gives Error.
ExprPtr build_expr(antlr4::ParserRuleContext* context, Sink& sink);

/// The source of `literal`; a text without its quotes.
Name literal_of(antlr4::ParserRuleContext* literal, Sink& sink);

/// The text of a STRING token: quotes removed, `\"` and `\\` undone.
std::string unquote(engine::Span token, const engine::SourceText& source);
/// The text of a TEXT token: also `{{` and `}}` undone.
std::string plain_text(std::string_view written);

engine::Span span_of(const antlr4::ParserRuleContext& context);

}  // namespace meniscus::grammar
