// Tables of cases beside the rules (`*.cases.csv`): rows that are examples, for a spreadsheet.
//
//   title,patient.id,dose,strength,volume,expect
//   twice the dose,,50 mg,200 mg/mL,0.5 mL,hold from dose-volume-agreement
//
// Columns:  fields of an order, as in a CSV feed; `expect`, as in an example, several separated by
//           `;`; `title`; `as-of`, the day that a row is judged as of.  Names that begin with `x-`
//           or
//           `_` are notes of the writer and not read.
// History:  a row whose `expect` is empty is an earlier order of the rows below that have its
//           patient.id.
// Errors:   a wrong head, row or cell is a diagnostic with its place, and its row is no case; the
//           other rows are still read.
//           Codes: docs/diagnostics.md, "Tables of cases".
#pragma once

#include <string>
#include <vector>

#include "engine/base/diagnostic.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct CaseTable {
  std::vector<engine::Example> cases;  // one a row with an expectation, in order
  std::vector<engine::Diagnostic> diagnostics;
};

/// `name`: of the file, for messages.  `program`: knows the rules and the words.
CaseTable read_cases(const std::string& name, const std::string& text,
                     const engine::Program& program);

}  // namespace meniscus::adapters
