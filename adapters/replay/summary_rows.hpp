// The summary of a replay in rows, for tables and scripts.
//
// JSON Lines: an object a line, each with its `kind`.  The lines are cut from summary_json(), so
//             that names, numbers and the numbering of patients are the same.
// CSV:        RFC 4180, its lines end with CR LF.  A cell that a spreadsheet would take for a
//             formula begins with an apostrophe.
#pragma once

#include <string>

#include "adapters/replay/summary.hpp"

namespace meniscus::adapters::replay {

/// `run` once; of each side `outcome`, `rule`, `rule-month`, `example`, `pair`, `never-assessed`
/// and `signal`; of a comparison `shift`, `rule-shift` and `example`.  An outcome, and a shift,
/// whose month is null is of the whole run; what kind of signal it is says `signal`.
std::string summary_jsonl(const Summary& summary, bool show_patients);

/// A row for a side, rule and month, and one without a month for the whole.  What is known of the
/// whole alone is empty in the others: orders without a date are in no month.  Both sides' rows of
/// a rule have the same counts of a comparison.
std::string summary_csv(const Summary& summary);

}  // namespace meniscus::adapters::replay
