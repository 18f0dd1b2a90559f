// Contract: see host_time.hpp.
#include "adapters/support/host_time.hpp"

#include <array>
#include <ctime>

#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

std::int64_t local_day() {
  const std::time_t now = std::time(nullptr);
  std::tm local{};
  if (localtime_r(&now, &local) == nullptr) return now / 86400;
  return engine::days_from_civil({local.tm_year + 1900, static_cast<unsigned>(local.tm_mon) + 1,
                                  static_cast<unsigned>(local.tm_mday)});
}

/// HL7 v2.5.1, 2.A.22 (DTM): YYYYMMDDHHMMSS+ZZZZ.
std::string message_time() {
  // Thousands of answers are written in one second.
  struct Written {
    std::time_t at = -1;
    std::string text;
  };
  thread_local Written written;
  const std::time_t now = std::time(nullptr);
  if (now == written.at) return written.text;
  std::tm local{};
  std::array<char, 32> text{};
  if (localtime_r(&now, &local) == nullptr) return {};
  written.text.assign(text.data(),
                      std::strftime(text.data(), text.size(), "%Y%m%d%H%M%S%z", &local));
  written.at = now;
  return written.text;
}

}  // namespace meniscus::adapters
