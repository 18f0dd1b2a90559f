// "did you mean": the known word that is nearest to what was typed.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "adapters/support/near_name.hpp"

namespace meniscus::adapters {

/// ", did you mean `test`?", or empty when no known word is near.
inline std::string did_you_mean(std::string_view typed,
                                const std::vector<std::string_view>& known) {
  NearName near(typed);
  for (const std::string_view word : known)
    near.offer(word);
  if (near.best().empty()) return {};
  return ", did you mean `" + std::string(near.best()) + "`?";
}

}  // namespace meniscus::adapters
