// The texts of findings: templates filled with an order's values.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

#include "engine/eval/columns.hpp"
#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

/// The texts of numbers that were shown lately: writing one costs more than finding it again, and
/// orders say the same few again and again.
class ShownNumbers {
 public:
  /// A known quantity, gauge or date, as show() gives it; good until the next call.
  std::string_view of(const Scalar& scalar, const Node& node, const Value& value);

 private:
  struct Shown {
    std::uint64_t number = 0;
    std::uint64_t aux = 0;
    std::uint64_t kind = 0;  // 0: nothing yet
    std::string text;
  };
  static constexpr std::size_t kShown = 1024;  // a power of two
  std::array<Shown, kShown> shown_;
};

/// Where a text's values come from, beside the tree walk that stands at the order; null: nowhere.
struct SayHelp {
  Columns* columns = nullptr;  // has the order's block, and has worked out most of it
  ShownNumbers* numbers = nullptr;
};

/// Appends `text` with its values.  A plain field is shown as it was written; a computed value in
/// the unit that docs/units.md names; what is missing as "(not stated)", none as "none".
void say(Scalar& scalar, const Template& text, const SayHelp& help, std::string& out);

/// One value for people.
std::string show(const Scalar& scalar, const Node& node, const Value& value);

}  // namespace meniscus::engine
