// Invented orders as JSON Lines, the same for the same seed: for benchmarks and for the test that
// two checkers agree.
//
// Makes:   orders of the clinic "Slatemoor" (patients SM-0000 to SM-9999) of some 480 bytes.  Seven
// of eight are sound;
//          every eighth has one fault of kFaults, in turn.
// Threads: one maker a thread.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>

namespace meniscus::bench {

enum class Fault : std::uint8_t {
  None,
  VolumeFarOff,      // twice the dose
  VolumeOff,         // a tenth too much
  VolumeTooLarge,    // does not fit the barrel
  VolumeTooSmall,    // less than one mark
  BetweenMarks,      // no multiple of the graduation
  NeedleThin,        // oil through a thin needle
  NeedleShort,       // cannot reach the muscle
  NeedleLong,        // under the skin with a muscle's needle
  StrengthUnknown,   // no such product
  TooEarly,          // three days after the last one
  TooLate,           // months after the last one
  TooMuchAtOneSite,  // more than a site takes
  VialOld,           // opened more than its in-use days ago
  RouteMissing,      //
  Allergy            // to the vehicle
};
inline constexpr unsigned kFaultCount = 16;

class OrderMaker {
 public:
  explicit OrderMaker(std::uint64_t seed = 1) : state_(seed) {}

  /// Appends one order and its line end; returns the fault that was put into it.
  Fault append(std::string& out);
  /// The same order as an HL7 v2 message (RDE^O11), as message_profile() says where its facts are.
  Fault append_message(std::string& out);

 private:
  struct Made;
  Made make();
  std::uint64_t next();
  unsigned below(unsigned bound) { return static_cast<unsigned>(next() % bound); }

  std::uint64_t state_;
  std::uint64_t count_ = 0;
};

/// `count` orders as one text.
std::string make_orders(std::size_t count, std::uint64_t seed = 1);
/// The same as HL7 v2 messages, each segment with its end.
std::string make_messages(std::size_t count, std::uint64_t seed = 1);
/// The profile of their feed (JSON): what HL7 v2 has no place for stands in a segment ZIN.
std::string message_profile();

}  // namespace meniscus::bench
