// Tokens that are told without the generated lexer are those that it tells: on all shipped rules,
// on what could go on in two ways, and on rules with bytes changed.
//
// Checked against the lexer that ANTLR makes of Rule.g4.
#include "grammar/frontend/plain_tokens.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "grammar/frontend/parse.hpp"

namespace meniscus::grammar {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> shipped_rules() {
  std::vector<std::string> texts;
  for (const auto& entry : fs::recursive_directory_iterator(MENISCUS_SOURCE_DIR "/rules")) {
    if (entry.path().extension() != ".rule") continue;
    std::ostringstream text;
    text << std::ifstream(entry.path(), std::ios::binary).rdbuf();
    texts.push_back(text.str());
  }
  return texts;
}

/// Empty, or where the two part.
std::string difference(const std::string& text) {
  const std::vector<Token> plain = raw_tokens(text);
  const std::vector<Token> lexed = raw_tokens(text, false);
  for (std::size_t i = 0; i < std::max(plain.size(), lexed.size()); ++i) {
    if (i < plain.size() && i < lexed.size() && plain[i] == lexed[i]) continue;
    const std::size_t at = i < lexed.size() ? lexed[i].span.begin : plain[i].span.begin;
    return "token " + std::to_string(i) + " at: " + text.substr(at, 30);
  }
  return {};
}

TEST(PlainTokens, AreTheLexersOnAllShippedRules) {
  std::size_t tokens = 0;
  std::size_t plain = 0;
  for (const std::string& text : shipped_rules()) {
    ASSERT_EQ(difference(text), "");
    for (const Token& token : raw_tokens(text)) {
      ++tokens;
      plain += plain_token(text, token.span.begin) ? 1U : 0U;
    }
  }
  EXPECT_GT(tokens, 10'000U);
  EXPECT_GT(plain, tokens * 9 / 10) << "the lexer is hardly asked";
}

TEST(PlainTokens, AreTheLexersWhereTheTextCouldGoOn) {
  const std::vector<std::string> pieces = {
      "dose", "dose-", "a.b", "a.",   ".5",  "5",     "0.5",   "5.",  "5,", "1/2",
      " ",    "  ",    "\n",  "\r\n", "\t",  "2026",  "-02",   "-03", "mg", "%",
      "\"",   "'",     "\\",  "#",    "=",   "==",    "<",     ">",   "!=", "**",
      "*",    "/",     "-",   "+",    "(",   ")",     ",",     "_",   "&&", ":=",
      "é",    "“",     "x_1", "µg",   "1,5", "\"a\"", "a-b-c", "{",   "}",  "\\\""};
  for (const std::string& a : pieces) {
    for (const std::string& b : pieces) {
      for (const std::string& c : pieces) {
        std::string text = a;
        text.append(b).append(c);
        ASSERT_EQ(difference(text), "") << a << "|" << b << "|" << c;
      }
    }
  }
}

TEST(PlainTokens, AreTheLexersWhateverByteIsChanged) {
  std::mt19937 chance(3);
  const std::string signs = "abc019.,-/%\"'#=<>*() \n\t\r\\_{}\x80\xE2";
  for (const std::string& text : shipped_rules()) {
    std::string changed = text;
    for (std::size_t i = 0; i < text.size() / 40; ++i)
      changed[chance() % changed.size()] = signs[chance() % signs.size()];
    ASSERT_EQ(difference(changed), "");
  }
}

}  // namespace
}  // namespace meniscus::grammar
