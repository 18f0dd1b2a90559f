// The time of this machine, in the time zone of this process.
#pragma once

#include <cstdint>
#include <string>

namespace meniscus::adapters {

/// The day it is now, days since 1970-01-01.
std::int64_t local_day();

/// Now with its offset, as HL7 v2 writes it: 20260302091400+0100.
std::string message_time();

}  // namespace meniscus::adapters
