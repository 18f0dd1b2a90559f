// What the generators of candidates are told about one order, and the generators themselves.
//
// Wanted:  only fields whose change may clear a finding get candidates, and only where the order
// has
//          a value: a slip is something else than what was forgotten.
// Order:   the common kinds first, because the list is bounded.
#pragma once

#include "engine/eval/scalar.hpp"
#include "engine/slips/candidates.hpp"
#include "engine/slips/sources.hpp"

namespace meniscus::engine::slips {

struct Ask {
  const Program& program;
  const Sources& sources;
  Scalar& scalar;  // stands at the order
  const FieldSet& wanted;
  Candidates& out;

  [[nodiscard]] Value value(FieldId field) const {
    return scalar.facts().block->value(scalar.facts().lane, field);
  }
  [[nodiscard]] std::string_view written(FieldId field) const {
    return scalar.facts().block->written(scalar.facts().lane, field);
  }
  [[nodiscard]] bool wants(FieldId field) const {
    return wanted.test(index(field)) && value(field).known() && can_be_asked(field);
  }
  /// Somebody wrote it: it was neither derived nor only found in the directions beside its field.
  [[nodiscard]] bool can_be_asked(FieldId field) const {
    return !written(field).empty() && !info(field).name.starts_with("stated.");
  }
  /// Adds `to` unless it is what the order says already, or no value that the field can have.
  void add(Kind kind, FieldId field, const Value& to, double size,
           std::string_view unit = {}) const;
};

/// How far apart two numbers are, in places of the decimal point.
double places(double from, double to);

// numbers.cpp
void add_points(const Ask& ask);     // a decimal point, a zero, two digits
void add_units(const Ask& ask);      // another unit of the same number
void add_intervals(const Ask& ask);  // a day for a week, twice for every second
void add_marks(const Ask& ask);      // marks and millilitres, another scale
// dates.cpp
void add_dates(const Ask& ask);
// listed.cpp
void add_listed(const Ask& ask);     // another value of a table's column
void add_fallbacks(const Ask& ask);  // what would stand there if the order did not say it
void add_sizes(const Ask& ask);      // the next usual size
void add_words(const Ask& ask);      // another word of a short list
void add_exchanges(const Ask& ask);  // two fields exchanged
void add_medicines(const Ask& ask);  // what the name says; the same medicine in another form
void add_earlier(const Ask& ask);    // as it was before
// agreeing.cpp
/// What makes the sides of the comparisons in `condition` agree.
void add_agreeing(const Ask& ask, NodeId condition);

}  // namespace meniscus::engine::slips
