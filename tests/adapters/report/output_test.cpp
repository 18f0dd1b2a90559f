// Strings as JSON and as plain lines.
//
// Checked against: RFC 8259, section 7 (what must be escaped), the nlohmann parser as a second
// reader, and The Unicode Standard, tables 3-7 and 3-8 (well-formed and ill-formed UTF-8).
#include "adapters/report/output.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters {
namespace {

std::string json(std::string_view text) {
  std::string out;
  append_json(out, text);
  return out;
}

std::string plain(std::string_view text) {
  std::string out;
  append_plain(out, text);
  return out;
}

TEST(AppendJson, EscapesWhatRfc8259Asks) {
  EXPECT_EQ(json("a\"b\\c"), R"("a\"b\\c")");
  EXPECT_EQ(json("\n\r\t"), R"("\n\r\t")");
  EXPECT_EQ(json(std::string_view("\0\x1f", 2)), R"("\u0000\u001f")");
  EXPECT_EQ(json(""), R"("")");
}

TEST(AppendJson, EveryByteComesBackThroughAnotherParser) {
  for (int byte = 0; byte < 0x80; ++byte) {
    const std::string text = "x" + std::string(1, static_cast<char>(byte)) + "y";
    EXPECT_EQ(nlohmann::json::parse(json(text)).get<std::string>(), text) << byte;
  }
}

TEST(AppendJson, KeepsWellFormedUtf8) {
  // The first and last code points of each row of table 3-7.
  const std::vector<std::string> rows = {"\xC2\x80",         "\xDF\xBF",        "\xE0\xA0\x80",
                                         "\xED\x9F\xBF",     "\xEE\x80\x80",    "\xEF\xBF\xBF",
                                         "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"};
  for (const std::string& row : rows) {
    EXPECT_EQ(engine::utf8_length(row), row.size());
    EXPECT_EQ(json(row), "\"" + row + "\"");
  }
}

TEST(AppendJson, ReplacesIllFormedUtf8) {
  // Overlong, surrogate, above U+10FFFF, cut short, lone continuation.
  const std::vector<std::string> broken = {
      "\xC0\xAF",         "\xE0\x80\xAF", "\xED\xA0\x80", "\xF5\x80",
      "\xF4\x90\x80\x80", "\xE2\x82",     "\x80",         "\xFF"};
  for (const std::string& text : broken) {
    EXPECT_EQ(engine::utf8_length(text), 0U);
    std::string expected;
    for (std::size_t i = 0; i < text.size(); ++i)
      expected += engine::kReplacement;
    EXPECT_EQ(nlohmann::json::parse(json("a" + text + "b")).get<std::string>(),
              "a" + expected + "b");
  }
}

TEST(AppendPlain, GivesTheTerminalNothingToObey) {
  EXPECT_EQ(plain("\x1b[31mred\x1b[0m"), " [31mred [0m");
  EXPECT_EQ(plain("a\r\nb\x7f"), "a  b ");
  EXPECT_EQ(plain("\xC2\x9B"
                  "31m"),
            " 31m");  // U+009B, the eight-bit form of ESC [
  EXPECT_EQ(plain("3 \xC2\xB5g \xFF"), "3 \xC2\xB5g " + std::string(engine::kReplacement));
}

TEST(Output, WritesInLargePiecesAndTheRestAtTheEnd) {
  std::vector<std::size_t> pieces;
  Output output([&](std::string_view bytes) -> engine::Status {
    pieces.push_back(bytes.size());
    return engine::Done{};
  });
  const std::string line(1000, 'x');
  for (int i = 0; i < 600; ++i) {
    output.text() += line;
    output.piece_done();
  }
  EXPECT_TRUE(output.finish());
  EXPECT_EQ(pieces, (std::vector<std::size_t>{263000, 263000, 74000}));
}

TEST(Output, KeepsTheFirstFailureAndWritesNoMore) {
  int calls = 0;
  Output output([&](std::string_view) -> engine::Status {
    ++calls;
    return engine::Error{engine::Errc::Input, "no space", 0, 0};
  });
  output.text() = "a";
  output.flush();
  output.text() = "b";
  const engine::Status status = output.finish();
  ASSERT_FALSE(status);
  EXPECT_EQ(status.error().message, "no space");
  EXPECT_EQ(calls, 1);
}

}  // namespace
}  // namespace meniscus::adapters
