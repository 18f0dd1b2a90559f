// Single mistakes put into sound orders, each with what was meant.
//
// Kinds:   those of published error reports (engine/slips/kinds.def names them) and of the trade.
// Orders:  JSON documents as the reader takes them; quantities are texts such as "0.25 mL".
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace meniscus::rules_tests {

using Json = nlohmann::json;

/// An order with one mistake, the field that has it, and what stood there before.
struct Mistake {
  Json order;
  std::string field;
  std::string meant;
};
struct Defect {
  std::string kind;
  std::function<std::vector<Mistake>(const Json& sound)> inject;
};
const std::vector<Defect>& defects();

/// The text of a dotted field; empty when it is not there or no text.
std::string text_of(const Json& order, const std::string& field);
void set_text(Json& order, const std::string& field, const std::string& text);

}  // namespace meniscus::rules_tests
