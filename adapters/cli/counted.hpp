// "1 rule", "3 rules".
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace meniscus::adapters {

inline std::string counted(std::size_t count, std::string_view thing) {
  std::string text = std::to_string(count) + " " + std::string(thing);
  if (count != 1) text += 's';
  return text;
}

}  // namespace meniscus::adapters
