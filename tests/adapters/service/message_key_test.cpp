// What a message is known again by.
//
// Source: the digest of "abc" is the first example of FIPS 180-2, appendix B.1.
#include "adapters/service/message_key.hpp"

#include <gtest/gtest.h>

#include "tests/adapters/service/service_run.hpp"

namespace meniscus::testing {
namespace {

using adapters::key_of;

TEST(MessageKey, DigestsAreThoseOfTheStandard) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string digits;
  for (const char c : adapters::digest_of("abc")) {
    const auto byte = static_cast<unsigned char>(c);
    digits += kDigits[byte >> 4U];
    digits += kDigits[byte & 15U];
  }
  EXPECT_EQ(digits, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST(MessageKey, SenderControlIdAndContentButNotTheTime) {
  const std::string message = frame(order("M-1"));
  const auto key = key_of(message);
  ASSERT_TRUE(key);
  EXPECT_EQ(key->control, "M-1");
  EXPECT_EQ(key->sender, "APP|FAC");
  std::string later = message;
  later.replace(later.find("20260302"), 8, "20260303101500+0100");
  EXPECT_EQ(key_of(later)->digest, key->digest);
  EXPECT_NE(key_of(frame(order("M-1", "16")))->digest, key->digest);
}

TEST(MessageKey, NoneWithoutAHeaderOrAControlId) {
  EXPECT_FALSE(key_of(""));
  EXPECT_FALSE(key_of("\x0BMSH"));
  EXPECT_FALSE(key_of("\x0BPID|1\r\x1C\r"));
  EXPECT_FALSE(key_of(frame(order(""))));
  EXPECT_FALSE(key_of("\x0BMSH|^~\\&|A|B\r\x1C\r"));
}

}  // namespace
}  // namespace meniscus::testing
