// Contract: see json_tree.hpp.
#include "adapters/fhir/json_tree.hpp"

#include <algorithm>
#include <cstring>

#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters::fhir {

bool Element::is(JsonKind kind) const { return exists() && tree_->nodes_[index_].kind == kind; }

Element Element::operator[](std::string_view key) const {
  if (!is(JsonKind::Object)) return {};
  for (std::uint32_t at = tree_->nodes_[index_].first; at != JsonTree::kNone;
       at = tree_->nodes_[at].next)
    if (tree_->nodes_[at].key == key && tree_->nodes_[at].kind != JsonKind::Null)
      return {tree_, at};
  return {};
}

Element Element::first() const {
  if (!exists() || tree_->nodes_[index_].first == JsonTree::kNone) return {};
  return {tree_, tree_->nodes_[index_].first};
}

Element Element::next() const {
  if (!exists() || tree_->nodes_[index_].next == JsonTree::kNone) return {};
  return {tree_, tree_->nodes_[index_].next};
}

Element Element::parent() const {
  if (!exists() || index_ == 0) return {};
  return {tree_, tree_->nodes_[index_].parent};
}

std::uint32_t Element::ordinal() const { return exists() ? tree_->nodes_[index_].ordinal : 0; }

std::string_view Element::key() const {
  return exists() ? tree_->nodes_[index_].key : std::string_view{};
}

std::string_view Element::text() const {
  return exists() ? tree_->nodes_[index_].text : std::string_view{};
}

std::string_view Element::token() const {
  return exists() ? tree_->record_.substr(begin(), end() - begin()) : std::string_view{};
}

std::uint32_t Element::begin() const { return exists() ? tree_->nodes_[index_].begin : 0; }
std::uint32_t Element::end() const { return exists() ? tree_->nodes_[index_].end : 0; }

engine::Origin Element::origin() const {
  if (!exists()) return {};
  const JsonTree::Node& node = tree_->nodes_[index_];
  switch (node.kind) {
    case JsonKind::Object:
    case JsonKind::List:
      return {node.begin, 1};
    case JsonKind::Text:
      if (node.end - node.begin > 2) return {node.begin + 1, node.end - node.begin - 2};
      return {node.begin, node.end - node.begin};
    case JsonKind::Number:
    case JsonKind::Truth:
    case JsonKind::Null:
      break;
  }
  return {node.begin, node.end - node.begin};
}

bool JsonTree::parse(std::string_view record) {
  record_ = record;
  nodes_.clear();
  twice_.clear();
  unescaped_.clear();
  std::size_t at = 0;
  blanks(at);
  return value(at);
}

Element JsonTree::at(std::size_t offset) const {
  // Values stand in the order in which they begin.
  const auto behind =
      std::ranges::upper_bound(nodes_, offset, {}, [](const Node& node) { return node.begin; });
  std::uint32_t index = 0;
  if (behind != nodes_.begin()) index = static_cast<std::uint32_t>(behind - nodes_.begin()) - 1;
  while (index != 0 && nodes_[index].end <= offset)
    index = nodes_[index].parent;
  return {this, index};
}

Element JsonTree::twice_within(Element element) const {
  for (const std::uint32_t index : twice_)
    if (nodes_[index].begin >= element.begin() && nodes_[index].end <= element.end())
      return {this, index};
  return {};
}

Element JsonTree::twice_in(Element object) const {
  if (twice_.empty() || !object.is(JsonKind::Object)) return {};
  for (Element member = object.first(); member.exists(); member = member.next())
    if (std::ranges::find(twice_, member.index_) != twice_.end()) return member;
  return {};
}

void JsonTree::blanks(std::size_t& at) const {
  at = std::min(record_.find_first_not_of(" \t\r\n", at), record_.size());
}

std::string_view JsonTree::string_at(std::size_t& at) {
  const std::size_t begin = ++at;
  bool escaped = false;
  while (at < record_.size() && record_[at] != '"') {
    const bool escape = record_[at] == '\\';
    escaped = escaped || escape;
    at += escape ? 2 : 1;
  }
  at = std::min(at, record_.size());
  const std::string_view raw = record_.substr(begin, at - begin);
  at = std::min(at + 1, record_.size());
  if (!escaped) return raw;
  return unescaped_.emplace_back(unescaped(raw).value_or(std::string(raw)));
}

bool JsonTree::value(std::size_t& at) {
  if (at >= record_.size() || nodes_.size() >= kMostValues) return false;
  const auto index = static_cast<std::uint32_t>(nodes_.size());
  nodes_.emplace_back().begin = static_cast<std::uint32_t>(at);
  bool whole = true;
  switch (record_[at]) {
    case '{':
      nodes_[index].kind = JsonKind::Object;
      whole = members(at, index, true);
      if (whole) find_twice(index);
      break;
    case '[':
      nodes_[index].kind = JsonKind::List;
      whole = members(at, index, false);
      break;
    case '"': {
      nodes_[index].kind = JsonKind::Text;
      const std::string_view text = string_at(at);
      nodes_[index].text = text;
      break;
    }
    default: {
      const char start = record_[at];
      nodes_[index].kind = start == 'n'                   ? JsonKind::Null
                           : start == 't' || start == 'f' ? JsonKind::Truth
                                                          : JsonKind::Number;
      at = std::min(record_.find_first_of(",]} \t\r\n", at), record_.size());
      break;
    }
  }
  nodes_[index].end = static_cast<std::uint32_t>(at);
  return whole;
}

bool JsonTree::members(std::size_t& at, std::uint32_t parent, bool keyed) {
  const char close = keyed ? '}' : ']';
  std::uint32_t before = kNone;
  std::uint32_t count = 0;
  ++at;
  for (;;) {
    blanks(at);
    if (at >= record_.size()) return false;
    if (record_[at] == close) break;
    if (record_[at] == ',') {
      ++at;
      continue;
    }
    std::string_view key;
    if (keyed) {
      key = string_at(at);
      blanks(at);
      ++at;  // the colon
      blanks(at);
    }
    const auto index = static_cast<std::uint32_t>(nodes_.size());
    if (!value(at)) return false;
    nodes_[index].key = key;
    nodes_[index].parent = parent;
    nodes_[index].ordinal = count++;
    (before == kNone ? nodes_[parent].first : nodes_[before].next) = index;
    before = index;
  }
  ++at;
  return true;
}

void JsonTree::find_twice(std::uint32_t object) {
  std::vector<std::pair<std::string_view, std::uint32_t>> keys;
  for (std::uint32_t at = nodes_[object].first; at != kNone; at = nodes_[at].next)
    keys.emplace_back(nodes_[at].key, at);
  std::sort(keys.begin(), keys.end());
  for (std::size_t i = 1; i < keys.size(); ++i)
    if (keys[i].first == keys[i - 1].first) twice_.push_back(keys[i].second);
}

}  // namespace meniscus::adapters::fhir
