// Wording for a token that does not fit where it stands.
#pragma once

#include <vector>

#include "grammar/frontend/sink.hpp"
#include "grammar/frontend/tokens.hpp"

namespace meniscus::grammar {

/// What was being read when the mistake was met.
enum class Reading : std::uint8_t { File, RuleLines, ExampleLines, Value, Condition, Other };

struct SyntaxFault {
  Token found;
  Token before;   // END when there is none
  Token opening;  // the bracket that is still open, where one is needed; else END
  Reading reading = Reading::Other;
  std::vector<Tok> needed;
};

void explain(const SyntaxFault& fault, Sink& sink);

}  // namespace meniscus::grammar
