// The checks of lint(), one file each, and what they share.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

void check_conditions(Workspace& workspace);   // R0601 to R0603
void check_group_words(Workspace& workspace);  // R0602
void check_absences(Workspace& workspace);     // R0604, R0605
void check_brackets(Workspace& workspace);     // R0606
void check_bands(Workspace& workspace);        // R0611, R0612
void check_unused(Workspace& workspace);       // R0613 to R0615
void check_key_words(Workspace& workspace);    // R0616
void check_heads(Workspace& workspace);        // R0621 to R0626
void check_repeats(Workspace& workspace);      // R0627

/// Calls `visit` for each expression as it is written: of the rules and their `let`s, of the
/// definitions, and the scopes of changes.
void each_expression(const Workspace& workspace,
                     const std::function<void(SourceId, const Expr&)>& visit);

/// What `op` (`and`, `or`) joins, one by one; the condition itself where it joins nothing.
std::vector<NodeId> parts_of(const engine::Program& program, NodeId condition, Op op);

/// Where a node is written inside of `within`; the first place where there are several.
std::optional<engine::Span> spelled(const Workspace& workspace, NodeId node, SourceId source,
                                    engine::Span within);
/// What is written there, on one line.
std::string written(const Workspace& workspace, SourceId source, engine::Span span);

}  // namespace meniscus::grammar
