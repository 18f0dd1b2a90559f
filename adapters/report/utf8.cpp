// Contract: see utf8.hpp.
#include "adapters/report/utf8.hpp"

namespace meniscus::adapters {

namespace {
struct LeadByte {
  std::size_t length = 0;
  unsigned second_least = 0x80;
  unsigned second_most = 0xBF;
};

LeadByte lead_byte(unsigned char byte) {
  if (byte < 0x80) return {1, 0, 0};
  if (byte >= 0xC2 && byte <= 0xDF) return {2, 0x80, 0xBF};
  if (byte == 0xE0) return {3, 0xA0, 0xBF};
  if (byte == 0xED) return {3, 0x80, 0x9F};
  if (byte >= 0xE1 && byte <= 0xEF) return {3, 0x80, 0xBF};
  if (byte == 0xF0) return {4, 0x90, 0xBF};
  if (byte >= 0xF1 && byte <= 0xF3) return {4, 0x80, 0xBF};
  if (byte == 0xF4) return {4, 0x80, 0x8F};
  return {};
}
}  // namespace

std::size_t utf8_length(std::string_view text) {
  if (text.empty()) return 0;
  const LeadByte lead = lead_byte(static_cast<unsigned char>(text[0]));
  if (lead.length <= 1) return lead.length;
  if (text.size() < lead.length) return 0;
  const auto second = static_cast<unsigned char>(text[1]);
  if (second < lead.second_least || second > lead.second_most) return 0;
  for (std::size_t i = 2; i < lead.length; ++i) {
    const auto next = static_cast<unsigned char>(text[i]);
    if (next < 0x80 || next > 0xBF) return 0;
  }
  return lead.length;
}

}  // namespace meniscus::adapters
