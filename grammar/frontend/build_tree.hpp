// From the generated parser's tree to the syntax tree of ast.hpp.
#pragma once

#include <memory>

#include "grammar/frontend/ast.hpp"
#include "grammar/frontend/sink.hpp"

namespace antlr4 {
class ParserRuleContext;
}

namespace meniscus::grammar {

/// Takes: the context of `ruleFile`; parts that could not be read become Error or are left out.
/// Reports: R0401 to R0406.
std::unique_ptr<RuleFile> build_tree(antlr4::ParserRuleContext& rule_file, Sink& sink);

}  // namespace meniscus::grammar
