// What a verdict says, item by item, for the reports that developers read: lines, SARIF, JUnit.
//
// Grades:   the one table of docs/formats-fhir.md: hold and clarify are errors, so is an order that
//           could not be checked to the end; caution is a warning, note a note; what was not
//           assessed is open.
// Patients: no item has a patient's number but for one that a rule says in its message.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/finding_key.hpp"
#include "engine/ports/order_source.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// Rules of the reports themselves.
inline constexpr std::string_view kIncomplete = "incomplete";     // the order's outcome
inline constexpr std::string_view kNotAssessed = "not-assessed";  // for lack of data
inline constexpr std::string_view kOutsideOrder = "outside";      // no injection

enum class Weight : std::uint8_t { Error, Warning, Note, Open, NotApplicable };

struct PlacedField {
  std::string_view name;
  engine::Place place;
};

struct DataItem {
  std::string_view rule;
  std::string_view grade;  // `hold` ... `note`, `incomplete`; `note` of what is not assessed
  Weight weight = Weight::Note;
  std::string message;
  std::vector<PlacedField> fields;
  engine::Place record;           // of the whole order
  std::optional<FindingKey> key;  // of a finding whose order has a number
  std::string suppressed;         // why nobody is to act on it (muted, answered); empty: one is

  [[nodiscard]] const engine::Place& place() const {
    return fields.empty() ? record : fields.front().place;
  }
};

/// In the order in which a reader wants them: findings, what is incomplete or not assessed, then
/// what is muted or answered.  `file` is settled_name() of the input.
std::vector<DataItem> items_of(const engine::Verdict& verdict, const engine::OrderBlock& block,
                               const engine::OrderSource& source, std::string_view file);

Weight weight_of(engine::Grade grade);

/// `needle.gauge missing: 3 rules not assessed (needle-thin, ...)`.
std::string missing_sentence(const engine::NotAssessed& entry);
/// The same of what no order of an input carries.  Rules that only weigh the field beside others
/// are decided without it; so which of them check nothing at all cannot be told from the rules.
std::string never_carried_sentence(const engine::NotAssessed& entry);

/// `file:line:column: grade: message [rule]` and a line end, without control characters.
/// Source: GNU Coding Standards, "Formatting Error Messages".  A place without a line has none.
void append_item_line(std::string& out, std::string_view file, const DataItem& item);

}  // namespace meniscus::adapters
