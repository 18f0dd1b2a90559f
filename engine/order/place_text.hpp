// Routes, sites and sides in free text.  Private to engine/order; see free_text.hpp.
#pragma once

#include <cstddef>
#include <string_view>

#include "engine/order/interval_text.hpp"
#include "engine/order/value_text.hpp"

namespace meniscus::engine {

class Found;

/// "under the skin", "subcutaneously", "IM" ... as the route's usual word; 0 tokens: none.
struct RouteWords {
  std::string_view route;
  std::size_t tokens = 0;
};
RouteWords route_at(const Tokens& tokens, std::size_t at);

/// "not", "never", "avoid" shortly before a token.
bool is_refused(const Tokens& tokens, std::size_t at);

/// Adds the site, or the side beside one, that the word at `at` names.
void read_place(const ReadContext& context, std::string_view text, const Tokens& tokens,
                std::size_t at, Found& site, Found& side);

}  // namespace meniscus::engine
