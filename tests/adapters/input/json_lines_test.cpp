// JSON with a record a line is cut into pieces that, put together again, are the input.
#include "adapters/input/json_lines.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <utility>

#include "adapters/input/byte_sources.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::adapters {
namespace {

std::string lines(std::size_t count, std::size_t width = 600) {
  std::string text;
  for (std::size_t i = 0; i < count; ++i)
    text +=
        R"({"dose":")" + std::to_string(i) + R"( mg","x":")" + std::string(width, 'a') + "\"}\n";
  return text;
}

std::string all_of(engine::ByteSource& bytes) {
  std::string text;
  for (;;) {
    std::string part(1000, '\0');
    const auto got = bytes.read(part.data(), part.size());
    if (!got) return text + "<" + got.error().message + ">";
    if (*got == 0) return text;
    text += part.substr(0, *got);
  }
}

/// Every piece is as promised; gives back how many there were.
std::size_t expect_whole(const std::string& text, std::size_t at_once) {
  JsonLines lines(memory_bytes(text, at_once));
  EXPECT_TRUE(lines.worth_it());
  JsonLines::Piece piece;
  std::string together;
  std::size_t pieces = 0;
  for (; lines.take(piece); ++pieces) {
    EXPECT_EQ(piece.begins.offset, together.size());
    EXPECT_EQ(piece.begins.line, 1 + std::count(together.begin(), together.end(), '\n'));
    EXPECT_LE(std::count(piece.bytes.begin(), piece.bytes.end(), '\n'), engine::kLanes);
    EXPECT_LE(piece.bytes.size(), JsonLines::kMost);
    EXPECT_TRUE(piece.bytes.ends_with("}\n"));
    together += piece.bytes;
  }
  EXPECT_EQ(lines.place().offset, together.size());
  EXPECT_TRUE(together + all_of(*lines.rest({})) == text);
  return pieces;
}

TEST(LinesOfJson, ArePiecesWhereverTheirBytesAreCut) {
  const std::string text = lines(2000);
  const std::size_t pieces = expect_whole(text, text.size());
  EXPECT_EQ(pieces, 2000U / engine::kLanes + 1) << "the last line is left";
  for (const std::size_t at_once : {7'001U, 65'536U, 262'144U})
    EXPECT_EQ(expect_whole(text, at_once), pieces);
}

TEST(LinesOfJson, ArePiecesOfFewLinesWhereThoseAreLong) {
  EXPECT_GT(expect_whole(lines(200, 20'000), 1U << 20U), std::size_t{4'000'000} / JsonLines::kMost);
}

TEST(LinesOfJson, LeaveWhatCannotBeCut) {
  const std::string text = lines(1000);
  const std::string nested = "{\"x-a\":\n" + lines(100'000, 10) + "}\n";
  JsonLines cut(memory_bytes(text + nested));
  ASSERT_TRUE(cut.worth_it());
  JsonLines::Piece piece;
  std::size_t taken = 0;
  while (cut.take(piece) && taken < text.size())
    taken += piece.bytes.size();
  const std::string left = all_of(*cut.rest("before"));
  EXPECT_TRUE(left.starts_with("before"));
  EXPECT_TRUE(left.ends_with("}\n}\n"));
}

TEST(LinesOfJson, AreNotWorthItWhereThereAreFewOrNone) {
  for (const std::string& text :
       {std::string(), lines(3), "[" + lines(2000) + "]", "{\n" + lines(2000) + "}",
        "order.id,dose\n" + std::string(1U << 20U, '1'),
        R"({"resourceType":"Bundle"})"
        "\n" +
            lines(2000)}) {
    JsonLines some(memory_bytes(text));
    EXPECT_FALSE(some.worth_it()) << text.substr(0, 40);
    EXPECT_TRUE(all_of(*some.rest({})) == text);
  }
}

TEST(LinesOfJson, GiveTheErrorOfTheirInputAtTheEnd) {
  const std::string text = lines(2000);
  JsonLines cut(with_bytes_before(text, broken_off({engine::Errc::Input, "it broke off", 0, 0})));
  ASSERT_TRUE(cut.worth_it());
  JsonLines::Piece piece;
  std::size_t taken = 0;
  while (cut.take(piece))
    taken += piece.bytes.size();
  EXPECT_TRUE(all_of(*cut.rest({})) == text.substr(taken) + "<it broke off>");
}

}  // namespace
}  // namespace meniscus::adapters
