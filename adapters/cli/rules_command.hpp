// `meniscus rules lint|explain-code|test|case|list|show|page|format|compare`.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// Every diagnostic with its place, then how many.
ExitStatus run_rules_lint(const Arguments& arguments, const Console& console);
/// What a code of a diagnostic means, why it matters, an example and how it is mended.
ExitStatus run_rules_explain_code(const Arguments& arguments, const Console& console);
/// What failed: expected, got, what decided; the clauses that nothing reaches; what the tests would
/// notice.
ExitStatus run_rules_test(const Arguments& arguments, const Console& console);
/// A checked order as a row of a table of cases, to standard output.
ExitStatus run_rules_case(const Arguments& arguments, const Console& console);
ExitStatus run_rules_list(const Arguments& arguments, const Console& console);
ExitStatus run_rules_show(const Arguments& arguments, const Console& console);
/// The rule set in words, for the people who sign it (docs/rule-set.md).
ExitStatus run_rules_page(const Arguments& arguments, const Console& console);
/// Rule files brought into the one layout, in place; `-` from standard input to standard output.
ExitStatus run_rules_format(const Arguments& arguments, const Console& console);
/// What changed between two rule sets, in words; exit status 1 when something did.
ExitStatus run_rules_compare(const Arguments& arguments, const Console& console);
ExitStatus run_rules_compile(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
