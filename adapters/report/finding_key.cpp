// Contract: see finding_key.hpp.
#include "adapters/report/finding_key.hpp"

#include <openssl/sha.h>

#include <array>
#include <filesystem>
#include <system_error>

#include "engine/order/field.hpp"

namespace meniscus::adapters {

namespace {
/// The first `digits` hexadecimal digits of the SHA-256 of `text`.
std::string hashed(std::string_view text, std::size_t digits) {
  constexpr std::string_view kHex = "0123456789abcdef";
  const std::string bytes(text);  // OpenSSL takes unsigned characters
  const std::vector<unsigned char> input(bytes.begin(), bytes.end());
  std::array<unsigned char, SHA256_DIGEST_LENGTH> sum{};
  SHA256(input.data(), input.size(), sum.data());
  std::string hex;
  for (const unsigned char byte : sum) {
    hex += kHex[byte >> 4U];
    hex += kHex[byte & 15U];
  }
  return hex.substr(0, digits);
}
}  // namespace

std::string FindingKey::fingerprint() const {
  // A zero byte stands in no name, so different keys never become one text.
  std::string text = "meniscus finding 1";
  const auto add = [&text](std::string_view part) { text.append(1, '\0').append(part); };
  add(rule);
  add(std::to_string(clause));
  add(std::to_string(without));
  add(order);
  add(file);
  for (const std::string& field : fields)
    add(field);
  return hashed(text, 32);
}

FindingKey key_of(const engine::Finding& finding, std::string_view order, std::string_view file) {
  FindingKey key;
  key.rule = finding.rule;
  key.clause = finding.clause;
  key.without = finding.without;
  key.order = hashed_order(order);
  key.file = file;
  for (const engine::BlamedField& field : finding.fields)
    key.fields.emplace_back(engine::info(field.field).name);
  return key;
}

std::string hashed_order(std::string_view order) {
  return order.empty() ? std::string() : hashed("meniscus order " + std::string(order), 16);
}

std::string settled_name(std::string_view input) {
  if (input == "-") return "-";
  std::error_code problem;
  std::filesystem::path path = std::filesystem::path(input).lexically_normal();
  if (path.is_absolute()) {
    const std::filesystem::path here = std::filesystem::current_path(problem);
    const std::filesystem::path below = path.lexically_relative(here);
    if (!problem && !below.empty() && *below.begin() != "..") path = below;
  }
  return path.generic_string();
}

}  // namespace meniscus::adapters
