// Counting what a feed carries (contract: learn.hpp).
#include "adapters/profile/learn.hpp"

#include <nlohmann/json.hpp>

namespace meniscus::adapters {
namespace {

using engine::FieldId;
using engine::FieldInfo;
using engine::FieldKind;
using Json = nlohmann::ordered_json;

constexpr std::size_t kMostWords = 200;  // of one field; a feed with more has no closed list

/// Fields that are worked out, so that no feed has to carry them.
bool is_derived(const FieldInfo& field) {
  return field.id == FieldId::PatientAge || field.name.starts_with("stated.");
}

}  // namespace

void ProfileLearner::add(const engine::OrderBlock& block) {
  for (unsigned lane = 0; lane < block.size(); ++lane) {
    if (block.record(lane).kind == engine::RecordKind::Unreadable)
      ++unreadable_;
    else if (block.record(lane).kind == engine::RecordKind::Order)
      add_lane(block, lane);
  }
  for (const engine::Doubt& doubt : block.doubts())
    ++doubtful_[engine::index(doubt.field)];
}

void ProfileLearner::add_lane(const engine::OrderBlock& block, unsigned lane) {
  ++orders_;
  for (const FieldInfo& field : engine::fields()) {
    const std::size_t i = engine::index(field.id);
    if ((block.column(field.id).present >> lane & 1U) == 0) continue;
    if (block.from_text(lane, field.id))
      ++from_text_[i];
    else
      ++seen_[i];
    const engine::Value value = block.value(lane, field.id);
    if (field.kind != FieldKind::Word || !value.known() || value.aux != engine::kNoWord) continue;
    auto& words = unknown_words_[field.id];
    if (words.size() < kMostWords) ++words[std::string(value.text)];
  }
}

std::string ProfileLearner::draft(const std::string& name) const {
  Json draft;
  draft["name"] = name;
  draft["_orders"] = orders_;
  if (unreadable_ > 0) draft["_unreadable"] = unreadable_;
  draft["never-carries"] = Json::array();
  Json carried = Json::object();
  Json text = Json::object();
  Json doubts = Json::object();
  for (const FieldInfo& field : engine::fields()) {
    const std::size_t i = engine::index(field.id);
    const std::string key(field.name);
    if (seen_[i] > 0) carried[key] = seen_[i];
    if (from_text_[i] > 0) text[key] = from_text_[i];
    if (doubtful_[i] > 0) doubts[key] = doubtful_[i];
    const bool never = seen_[i] == 0 && from_text_[i] == 0 && orders_ > 0;
    if (never && !is_derived(field)) draft["never-carries"].push_back(key);
  }
  draft["_carries"] = std::move(carried);
  if (!text.empty()) draft["_carries-in-text"] = std::move(text);
  if (!doubts.empty()) draft["_doubtful"] = std::move(doubts);
  if (!unknown_words_.empty()) {
    Json words = Json::object();
    for (const auto& [field, counts] : unknown_words_)
      words[std::string(engine::info(field).name)] = counts;
    draft["_words-to-translate"] = std::move(words);
  }
  // Broken text is replaced, never thrown about.
  return draft.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace meniscus::adapters
