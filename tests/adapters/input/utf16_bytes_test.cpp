// UTF-16 into UTF-8, in pieces of every size; what begins with no mark stays as it is.
//
// Source: RFC 2781 (UTF-16, its byte order mark, the pair D834 DD1E for U+1D11E), RFC 3629.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/input/byte_sources.hpp"
#include "adapters/input/utf16_bytes.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using namespace std::string_literals;

struct Read {
  std::string text;
  std::string error;
};

Read read_all(const std::string& bytes, std::size_t piece, std::size_t size) {
  const auto source = utf8_bytes(memory_bytes(bytes, piece), "x.csv");
  Read all;
  std::string room(size, '\0');
  for (;;) {
    const auto got = source->read(room.data(), room.size());
    if (!got) {
      all.error = got.error().message;
      return all;
    }
    if (*got == 0) return all;
    all.text.append(room, 0, *got);
  }
}

// `a;µ` and U+1D11E, which is a pair of halves.
const std::string kLittle =
    "\xFF\xFE"
    "a\0;\0\xB5\0\x34\xD8\x1E\xDD"s;
const std::string kBig = "\xFE\xFF\0a\0;\0\xB5\xD8\x34\xDD\x1E"s;
const std::string kText = "a;\xC2\xB5\xF0\x9D\x84\x9E";

TEST(Utf8Bytes, OfBothByteOrdersInPiecesOfAnySize) {
  for (const std::string& bytes : {kLittle, kBig})
    for (std::size_t piece = 1; piece <= bytes.size(); ++piece)
      for (const std::size_t size : {1U, 2U, 4096U}) {
        const Read all = read_all(bytes, piece, size);
        EXPECT_EQ(all.text, kText) << piece << " " << size;
        EXPECT_EQ(all.error, "");
      }
}

TEST(Utf8Bytes, MoreThanABuffer) {
  std::string bytes = "\xFF\xFE"s;
  std::string text;
  for (int i = 0; i < 200000; ++i) {
    bytes += "\xAC\x20"s;  // U+20AC
    text += "\xE2\x82\xAC";
  }
  EXPECT_EQ(read_all(bytes, 4095, 1000).text, text);
}

TEST(Utf8Bytes, WhatHasNoMarkStaysAsItIs) {
  for (const std::string& bytes : {""s, "a"s, "\xFF"s, "\xFEx"s, "\xEF\xBB\xBForder.id\n"s, "{}"s})
    for (const std::size_t piece : {1U, 4096U})
      EXPECT_EQ(read_all(bytes, piece, 3).text, bytes);
}

TEST(Utf8Bytes, HalfACharacterIsAnErrorBehindWhatCameBefore) {
  const Read cut = read_all(kLittle.substr(0, kLittle.size() - 2), 3, 4096);
  EXPECT_EQ(cut.text, "a;\xC2\xB5");
  EXPECT_THAT(cut.error, HasSubstr("x.csv: half a character at the end, after 8 bytes"));
  const Read lone = read_all(
      "\xFF\xFE"
      "a\0\x1E\xDD"s,
      4096, 4096);
  EXPECT_EQ(lone.text, "a");
  EXPECT_THAT(lone.error, HasSubstr("no UTF-16, after 4 bytes"));
}

}  // namespace
}  // namespace meniscus::adapters
