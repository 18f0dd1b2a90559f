// The words of a rule's conditions as people read them aloud: signs in words, the figures of
// settings behind their names, patterns explained.
//
//   RuleProse prose(program);
//   prose("volume > sc-volume-limit")   // "volume is more than sc-volume-limit (1 mL)"
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

class RuleProse {
 public:
  /// Without the figures of settings.
  RuleProse() = default;
  /// The program must outlive this.
  explicit RuleProse(const engine::Program& program);

  [[nodiscard]] std::string operator()(std::string_view code) const;

  [[nodiscard]] const engine::Setting* setting(std::string_view name) const;

 private:
  std::map<std::string, const engine::Setting*, std::less<>> settings_;
};

/// A letter, digit, hyphen or point: what names are made of.
bool is_name_char(char c);

}  // namespace meniscus::adapters
