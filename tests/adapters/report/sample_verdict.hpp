// Verdicts and a source made by hand, for the tests of the reports.
#pragma once

#include <string>

#include "engine/order/order_block.hpp"
#include "engine/ports/order_source.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters::testing {

/// Says one fixed place for every field, and another for records.
class FixedSource final : public engine::OrderSource {
 public:
  bool next(engine::OrderBlock& /*block*/) override { return false; }
  [[nodiscard]] engine::Place place(const engine::OrderBlock& /*block*/, unsigned /*lane*/,
                                    engine::FieldId /*field*/,
                                    engine::Origin /*origin*/) const override {
    return field_place;
  }
  [[nodiscard]] engine::Place record_place(const engine::OrderBlock& /*block*/,
                                           unsigned /*lane*/) const override {
    return whole_record;
  }

  engine::Place field_place{"day.ndjson", "/volume", 12, 30, R"("dose":"50 mg","volume":"0.5 mL")",
                            24,           8};
  engine::Place whole_record{"day.ndjson", "", 7, 1, "not an order", 0, 12};
};

inline engine::Verdict clear_verdict() {
  engine::Verdict verdict;
  verdict.order = "A-102";
  verdict.patient = "SM-0012";
  verdict.outcome = engine::Outcome::Clear;
  verdict.as_of_day = 20514;  // 2026-03-02
  return verdict;
}

inline engine::Verdict hold_verdict() {
  engine::Verdict verdict = clear_verdict();
  verdict.outcome = engine::Outcome::Hold;
  engine::Finding& finding = verdict.add_finding();
  finding.rule = "dose-volume-agreement";
  finding.clause = 1;
  finding.grade = engine::Grade::Hold;
  finding.group = 1;
  finding.say = "50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL.";
  finding.ask = "Which of the dose, the strength and the volume is meant?";
  finding.cite = "common practice";
  finding.fields = {{engine::FieldId::Volume, "0.5 mL", {10, 8}, false}};
  verdict.not_assessed = {{"needle.gauge", {"needle-thin", "needle-force", "draw"}, true}};
  return verdict;
}

}  // namespace meniscus::adapters::testing
