// SHA-256 against the example messages that NIST publishes with FIPS 180 (from memory).
#include "grammar/lower/sha256.hpp"

#include <gtest/gtest.h>

namespace meniscus::grammar {
namespace {

std::string digest(std::string_view text) {
  Sha256 hash;
  hash.update(text);
  return hash.finish();
}

TEST(Sha256, EmptyMessage) {
  EXPECT_EQ(digest(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
TEST(Sha256, OneBlockMessage) {
  EXPECT_EQ(digest("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}
TEST(Sha256, TwoBlockMessage) {
  EXPECT_EQ(digest("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}
TEST(Sha256, LongMessageInPieces) {
  Sha256 hash;
  for (int i = 0; i < 1000000; i += 1000)
    hash.update(std::string(1000, 'a'));
  EXPECT_EQ(hash.finish(), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}
TEST(Sha256, EverySplitGivesTheSame) {
  const std::string text(130, 'x');
  for (std::size_t at = 0; at <= text.size(); ++at) {
    Sha256 hash;
    hash.update(std::string_view(text).substr(0, at));
    hash.update(std::string_view(text).substr(at));
    EXPECT_EQ(hash.finish(), digest(text));
  }
}

}  // namespace
}  // namespace meniscus::grammar
