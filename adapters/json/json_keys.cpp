// The table of keys (contract: json_keys.hpp).
#include "adapters/json/json_keys.hpp"

#include <algorithm>
#include <cstring>

#include "adapters/support/near_name.hpp"

namespace meniscus::adapters {

using engine::FieldInfo;

const JsonKeys& JsonKeys::instance() {
  static const JsonKeys kKeys;
  return kKeys;
}

std::size_t JsonKeys::slot(std::uint8_t group, std::string_view key) {
  std::uint32_t hash = 2166136261U ^ group;
  for (const char c : key)
    hash = (hash ^ static_cast<unsigned char>(c)) * 16777619U;
  return (hash ^ hash >> 15U) % kSlots;
}

void JsonKeys::add(std::uint8_t group, std::string_view key, JsonKey meaning) {
  std::size_t at = slot(group, key);
  while (!slots_[at].key.empty())
    at = (at + 1) % kSlots;
  slots_[at] = {key, group, meaning};
}

JsonKeys::JsonKeys() : groups_{""}, members_(1), slots_(kSlots) {
  for (const FieldInfo& field : engine::fields()) {
    const auto id = static_cast<std::uint8_t>(field.id);
    add(kRootGroup, field.name, {JsonKey::Kind::Field, id});
    const std::size_t dot = field.name.find('.');
    if (dot == std::string_view::npos) {
      members_[kRootGroup].push_back(field.id);
      continue;
    }
    const std::string_view group = field.name.substr(0, dot);
    auto known = std::find(groups_.begin(), groups_.end(), group);
    if (known == groups_.end()) {
      groups_.push_back(group);
      members_.emplace_back();
      known = groups_.end() - 1;
      add(kRootGroup, group, {JsonKey::Kind::Group, static_cast<std::uint8_t>(groups_.size() - 1)});
    }
    const auto number = static_cast<std::uint8_t>(known - groups_.begin());
    members_[number].push_back(field.id);
    add(number, field.name.substr(dot + 1), {JsonKey::Kind::Field, id});
  }
}

JsonKey JsonKeys::find(std::uint8_t group, std::string_view key) const {
  for (std::size_t at = slot(group, key); !slots_[at].key.empty(); at = (at + 1) % kSlots)
    if (slots_[at].group == group && slots_[at].key == key) return slots_[at].meaning;
  return {};
}

std::string_view JsonKeys::near(std::uint8_t group, std::string_view key) const {
  NearName nearest(key);
  for (const Row& row : slots_)
    if (row.group == group) nearest.offer(row.key);
  return nearest.best();
}

std::uint8_t JsonKeys::group_of(engine::FieldId field) const {
  const std::string_view name = engine::info(field).name;
  const std::size_t dot = name.find('.');
  if (dot == std::string_view::npos) return kRootGroup;
  const auto known = std::find(groups_.begin(), groups_.end(), name.substr(0, dot));
  return static_cast<std::uint8_t>(known - groups_.begin());
}

bool append_own_pointer(std::string_view record, engine::FieldId field, engine::Origin origin,
                        std::string& pointer) {
  // Back from the value over its quote, the colon and the key's closing quote.
  std::string_view before = record.substr(0, std::min<std::size_t>(origin.offset, record.size()));
  const auto drop = [&before](std::string_view bytes) {
    const std::size_t last = before.find_last_not_of(bytes);
    before.remove_suffix(before.size() - (last == std::string_view::npos ? 0 : last + 1));
  };
  if (before.ends_with('"')) before.remove_suffix(1);
  drop(" \t\r\n");
  if (!before.ends_with(':')) return false;
  before.remove_suffix(1);
  drop(" \t\r\n");
  if (!before.ends_with('"')) return false;
  before.remove_suffix(1);
  const std::string_view name = engine::info(field).name;
  const std::size_t dot = name.find('.');
  const auto is_key = [&before](std::string_view key) {
    return before.size() > key.size() && before.ends_with(key) &&
           before[before.size() - key.size() - 1] == '"';
  };
  if (is_key(name)) {
    pointer.append("/").append(name);
    return true;
  }
  if (dot == std::string_view::npos || !is_key(name.substr(dot + 1))) return false;
  pointer.append("/").append(name.substr(0, dot)).append("/").append(name.substr(dot + 1));
  return true;
}

void KeyGuess::learn(std::uint8_t group, std::string_view key, JsonKey meaning) {
  if (key.empty() || key.size() >= kShort) return;
  Guess guess;
  guess.length = static_cast<std::uint8_t>(key.size());
  guess.group = group;
  guess.meaning = meaning;
  const std::size_t size = key.size() + 1;
  std::array<char, kShort> bytes{};
  std::memset(bytes.data(), 0xFF, size);
  guess.mask = words_at(bytes.data());
  std::memcpy(bytes.data(), key.data(), key.size());
  bytes[key.size()] = '"';
  guess.key = words_at(bytes.data());
  next_[2 * before_ + 1] = next_[2 * before_];
  next_[2 * before_] = guess;
}

JsonKey KeyGuess::look_up(std::uint8_t group, std::string_view key) {
  const JsonKey meaning = JsonKeys::instance().find(group, key);
  if (meaning.kind != JsonKey::Kind::Unknown) {
    learn(group, key, meaning);
    before_ = place_of(meaning);
  }
  return meaning;
}

}  // namespace meniscus::adapters
