// What one call found, behind the handles of meniscus.h: copies that need nothing else to live on.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "adapters/plugin/meniscus.h"
#include "engine/order/order_block.hpp"
#include "engine/ports/order_source.hpp"
#include "engine/verdict/verdict.hpp"

struct MeniscusField {
  std::string name;  // empty: the place of the order itself
  std::string value;
  std::string place;
  std::uint64_t line = 0;
  std::uint64_t column = 0;
  bool from_text = false;
};

struct MeniscusFinding {
  std::string rule;
  MeniscusGrade grade = MENISCUS_GRADE_HOLD;
  unsigned group = 0;
  unsigned clause = 0;
  std::string say;
  std::string ask;
  std::string cite;
  std::vector<MeniscusField> fields;
};

struct MeniscusMissing {
  std::string what;
  std::vector<std::string> rules;
};

struct MeniscusVerdict {
  std::string order;
  std::string patient;
  MeniscusOutcome outcome = MENISCUS_OUTCOME_HOLD;
  bool stops = true;
  std::string reason;
  std::vector<MeniscusFinding> findings;
  std::vector<MeniscusMissing> missing;
};

struct MeniscusVerdicts {
  std::string jsonl;
  std::string hl7;
  bool has_hl7 = false;
  std::vector<MeniscusVerdict> all;
};

namespace meniscus::adapters {

/// A copy.  `fail_at`: at or above it an order stops.
MeniscusVerdict copy_of(const engine::Verdict& verdict, const engine::OrderBlock& block,
                        const engine::OrderSource& source, engine::Outcome fail_at);

}  // namespace meniscus::adapters
