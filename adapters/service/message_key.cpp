// Contract: see message_key.hpp.
#include "adapters/service/message_key.hpp"

#include <openssl/evp.h>

#include <array>

#include "adapters/hl7v2/message.hpp"

namespace meniscus::adapters {

namespace {

constexpr std::string_view kHeader = "MSH";
constexpr unsigned kApplication = 3;
constexpr unsigned kFacility = 4;
constexpr unsigned kTime = 7;
constexpr unsigned kControl = 10;

/// The fields of the header up to MSH-10, as they stand; what is not there is empty.
struct Header {
  std::array<std::string_view, kControl + 1> fields;

  explicit Header(std::string_view line) {
    const char separator = line[kHeader.size()];
    std::size_t begin = kHeader.size() + 1;
    for (unsigned number = 2; number <= kControl && begin <= line.size(); ++number) {
      const std::size_t end = std::min(line.find(separator, begin), line.size());
      fields.at(number) = line.substr(begin, end - begin);
      begin = end + 1;
    }
  }
};

}  // namespace

std::string digest_of(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> out{};
  unsigned size = 0;
  EVP_Digest(bytes.data(), bytes.size(), out.data(), &size, EVP_sha256(), nullptr);
  return {out.begin(), out.begin() + size};
}

std::optional<MessageKey> key_of(std::string_view frame) {
  const std::size_t start = frame.find(kHeader);
  if (start == std::string_view::npos || frame.size() <= start + kHeader.size())
    return std::nullopt;
  const std::string_view message = frame.substr(start);
  const Header header(hl7v2::first_line(message));
  const std::string_view control = header.fields[kControl];
  if (control.empty()) return std::nullopt;
  const std::string_view time = header.fields[kTime];
  std::string says(message);
  says.erase(static_cast<std::size_t>(time.data() - message.data()), time.size());
  std::string sender(header.fields[kApplication]);
  sender.append(1, message[kHeader.size()]).append(header.fields[kFacility]);
  return MessageKey{std::move(sender), std::string(control), digest_of(says)};
}

}  // namespace meniscus::adapters
