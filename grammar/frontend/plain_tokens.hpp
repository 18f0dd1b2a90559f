// The tokens that nearly all of a rule file consists of, told without the generated lexer.
//
// Why:  the lexer asks a table behind a lock for every byte; plain words, texts, numbers and signs
//       are most of what it sees, and reading them was half of the time that rules take to load.
// Same: Rule.g4 is what decides.  A token is told here only where no other token of the grammar can
//       begin alike and be longer; all else is the lexer's.  Tests and the fuzzer hold both to the
//       same tokens.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "grammar/frontend/tokens.hpp"

namespace meniscus::grammar {

/// Behind the blanks and comments at `at`; at most text.size().
std::uint32_t skip_blanks(std::string_view text, std::uint32_t at);

/// The token at `at`, where no blank stands; nothing where the lexer has to say.
std::optional<Token> plain_token(std::string_view text, std::uint32_t at);

}  // namespace meniscus::grammar
