// What the tests of the FHIR reader share: a source over a text, the published examples, and the
// same order in the project's own JSON.
#pragma once

#include <fstream>
#include <iterator>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/fhir/fhir_source.hpp"
#include "adapters/json/json_source.hpp"
#include "tests/support/orders_text.hpp"
#include "tests/support/table_vocabularies.hpp"

namespace meniscus::testing {

inline const engine::Program& words_of_tables() {
  static const std::unique_ptr<const engine::Program> kProgram = [] {
    auto made = std::make_unique<engine::Program>();
    load_vocabularies(MENISCUS_SOURCE_DIR "/rules", *made);
    return made;
  }();
  return *kProgram;
}

inline std::vector<tests::ReadOrder> read_fhir(std::string_view text,
                                               std::size_t at_once = std::string::npos,
                                               const adapters::fhir::FhirLimits& limits = {}) {
  const engine::Feed feed;
  const engine::ReadContext context{&words_of_tables(), &feed};
  return tests::read_all(
      *adapters::fhir::make_fhir_source(tests::input_of(text, at_once), context, limits));
}

/// The first order of a text in the project's own JSON.
inline tests::ReadOrder read_own(std::string_view json) {
  const engine::Feed feed;
  const engine::ReadContext context{&words_of_tables(), &feed};
  return tests::read_all(*adapters::make_json_source(tests::input_of(json), context)).front();
}

/// An example of the FHIR R4 specification (tests/fixtures/fhir/README.md).
inline std::string fhir_example(const std::string& name) {
  std::ifstream file(MENISCUS_SOURCE_DIR "/tests/fixtures/fhir/" + name + ".json");
  return {std::istreambuf_iterator<char>(file), {}};
}

/// A MedicationRequest with `members` after what every one has; a member that says one of these
/// things otherwise stands in `members` alone.
inline std::string request_with(std::string members) {
  std::string text = R"({"resourceType":"MedicationRequest","id":"rx1")";
  const auto add = [&](std::string_view key, std::string_view member) {
    if (members.find(key) == std::string::npos) text.append(",").append(member);
  };
  add("\"status\"", R"("status":"active")");
  add("\"intent\"", R"("intent":"order")");
  add("\"subject\"", R"("subject":{"reference":"Patient/SM-0012"})");
  add("\"medicationCodeableConcept\"",
      R"("medicationCodeableConcept":{"text":"testosterone cypionate"})");
  if (!members.empty()) text.append(",").append(members);
  return text + "}";
}

}  // namespace meniscus::testing
