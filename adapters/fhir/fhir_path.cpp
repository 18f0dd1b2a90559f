// Contract: see fhir_path.hpp.
#include "adapters/fhir/fhir_path.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters::fhir {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }
bool is_name(char c) { return is_digit(c) || is_upper(c) || c == '_' || (c >= 'a' && c <= 'z'); }

/// The name of an element, whatever type its JSON key says: `dose` of `doseQuantity`, and all of
/// `doseAndRate`.
std::string_view without_type(std::string_view key) {
  static constexpr std::array<std::string_view, 17> kOfSeveralTypes = {
      "medication", "effective", "dose",         "rate",          "asNeeded", "bounds",
      "value",      "onset",     "deceased",     "reported",      "allowed",  "item",
      "occurrence", "performed", "statusReason", "multipleBirth", "abatement"};
  static constexpr std::array<std::string_view, 21> kTypes = {
      "CodeableConcept", "Reference", "Quantity", "Range",   "Ratio",   "DateTime",   "Period",
      "Boolean",         "Duration",  "String",   "Integer", "Age",     "Instant",    "Date",
      "Timing",          "Time",      "Code",     "Coding",  "Decimal", "Identifier", "Uri"};
  for (const std::string_view name : kOfSeveralTypes)
    if (key.starts_with(name) && std::ranges::find(kTypes, key.substr(name.size())) != kTypes.end())
      return name;
  return key;
}

void append_index(std::string& path, std::size_t index) {
  path.append("[").append(std::to_string(index)).append("]");
}

void append_key(std::string& path, std::string_view key) {
  // `_birthDate` holds what belongs to `birthDate`.
  if (key.size() > 1 && key.front() == '_') key.remove_prefix(1);
  key = without_type(key);
  if (!path.empty()) path += '.';
  const bool plain = !key.empty() && !is_digit(key.front()) && std::ranges::all_of(key, is_name);
  if (plain) {
    path += key;
    return;
  }
  path += '`';
  for (const char c : key) {
    if (c == '`' || c == '\\') path += '\\';
    path += c;
  }
  path += '`';
}

void append_step(std::string& path, const std::string& step) {
  if (!step.empty() && std::ranges::all_of(step, is_digit))
    path.append("[").append(step).append("]");
  else
    append_key(path, step);
}

bool is_type(std::string_view text) { return !text.empty() && std::ranges::all_of(text, is_name); }

/// The type of the outermost resource; empty where it says none.
std::string type_of(std::string_view record) {
  const auto value = top_level_value(record, "resourceType");
  if (!value || value->length < 2 || record[value->offset] != '"') return {};
  const std::string_view text = record.substr(value->offset + 1, value->length - 2);
  return is_type(text) ? std::string(text) : std::string();
}

}  // namespace

std::string fhir_path_at(std::string_view record, std::size_t offset) {
  const std::string pointer = json_pointer_at(record, offset);
  std::string path = type_of(record);
  std::string step;
  for (std::size_t at = 1; at <= pointer.size() && !pointer.empty(); ++at) {
    if (at == pointer.size() || pointer[at] == '/') {
      append_step(path, step);
      step.clear();
    } else if (pointer[at] == '~' && at + 1 < pointer.size()) {
      step += pointer[++at] == '1' ? '/' : '~';
    } else {
      step += pointer[at];
    }
  }
  return path;
}

std::string fhir_path_at(const JsonTree& tree, std::size_t offset) {
  std::vector<Element> steps;
  for (Element at = tree.at(offset); at.parent().exists(); at = at.parent())
    steps.push_back(at);
  const std::string_view type = tree.root()["resourceType"].text();
  std::string path = is_type(type) ? std::string(type) : std::string();
  for (auto step = steps.rbegin(); step != steps.rend(); ++step) {
    if (step->parent().is(JsonKind::List))
      append_index(path, step->ordinal());
    else
      append_key(path, step->key());
  }
  return path;
}

}  // namespace meniscus::adapters::fhir
