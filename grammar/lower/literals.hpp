// Values as they are written in rules: `1.5 mL`, `20 %`, `21 G`, `100 mg/5 mL`, `yes`.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "engine/base/result.hpp"
#include "engine/order/value.hpp"
#include "engine/verdict/verdict.hpp"
#include "grammar/check/report.hpp"
#include "grammar/frontend/ast.hpp"

namespace meniscus::grammar {

struct Literal {
  engine::Value value;  // text: the literal itself, a view of what was read
  engine::Type type = engine::Type::Quantity;
  bool percent = false;
};

/// A number, percentage, quantity, strength or gauge.
engine::Result<Literal> read_quantity_literal(std::string_view text);
/// An ISO date of day precision.
engine::Result<Literal> read_date_literal(std::string_view text);
/// What a setting may be: one of the above, `yes`, `no`, or a word.
engine::Result<Literal> read_setting_literal(std::string_view text);

/// The day of a date; nothing where there is none, or where it cannot be read, which is reported.
std::optional<std::int64_t> read_day(Report& report, SourceId source, const Name& date);
/// The grade of that name; an unknown one is reported.
std::optional<engine::Grade> read_grade(Report& report, SourceId source, const Name& name);

}  // namespace meniscus::grammar
