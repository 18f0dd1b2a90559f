// Finding answers by what they are for (contract: answer.hpp).
#include "engine/answers/answer.hpp"

#include <utility>

namespace meniscus::engine {
namespace {

/// An order's answer is found by its order alone: whose it was is compared afterwards.
std::string key_of(std::string_view order, std::string_view patient, std::string_view rule) {
  std::string key(order.empty() ? "patient" : "order");
  key.append(1, '\0').append(order.empty() ? patient : order).append(1, '\0').append(rule);
  return key;
}

}  // namespace

void Answers::add(Answer answer) {
  const Answer& kept = all_.emplace_back(std::move(answer));
  by_question_[key_of(kept.order, kept.patient, kept.rule)].push_back(&kept);
}

const std::vector<const Answer*>* Answers::find(std::string_view order, std::string_view patient,
                                                std::string_view rule) const {
  const auto at = by_question_.find(key_of(order, patient, rule));
  return at == by_question_.end() ? nullptr : &at->second;
}

}  // namespace meniscus::engine
