// A value, or the reason why there is none.
//
// Shape:   the part of std::expected (C++23) that the project uses, for C++20.
// Errors:  Error carries a code from a closed list, one sentence for a person, and where in the
//          text that was read the trouble stands (bytes, half-open; empty when it has no place).
// Never:   throws.  Access to the wrong side is our bug and asserts.
#pragma once

#include <cassert>
#include <cstdint>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <variant>

namespace meniscus::engine {

enum class Errc : std::uint8_t {
  NotANumber,         // no number where one is needed, or one that no decimal can hold
  OutOfRange,         // a number too large or too small to be meant
  UnknownUnit,        // names the nearest known unit
  MissingUnit,        // a number alone
  DimensionMismatch,  // names both dimensions
  Ambiguous,          // can be read in two ways (`0,25`, `03/04/2026`, `1.000`)
  NotADate,
  UnknownWord,
  Syntax,  // the shape of the text is wrong
  Input,   // a file or stream could not be read
  Usage,   // the host asked for something impossible
  Internal
};

struct Error {
  Errc code = Errc::Internal;
  std::string message;       // lower case, no full stop, what was found and then what was needed
  std::uint32_t offset = 0;  // into the text that was read
  std::uint32_t length = 0;
};

template <class T>
class [[nodiscard]] Result {
 public:
  using value_type = T;

  // A function returns either one as it is: implicit on purpose.
  // NOLINTNEXTLINE(google-explicit-constructor)
  Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  // NOLINTNEXTLINE(google-explicit-constructor)
  Result(Error error) : state_(std::in_place_index<1>, std::move(error)) {}

  [[nodiscard]] bool has_value() const { return state_.index() == 0; }
  explicit operator bool() const { return has_value(); }

  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T&& operator*() && { return std::move(value()); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }

  [[nodiscard]] T& value() {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  [[nodiscard]] const T& value() const {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  [[nodiscard]] const Error& error() const {
    assert(!has_value());
    return *std::get_if<1>(&state_);
  }
  [[nodiscard]] T value_or(T other) const { return has_value() ? value() : std::move(other); }

  /// Applies `next` (T -> Result<U>) to a value; hands an error on.
  template <class F>
  auto and_then(F&& next) const -> std::invoke_result_t<F, const T&> {
    if (!has_value()) return error();
    return std::forward<F>(next)(value());
  }

 private:
  std::variant<T, Error> state_;
};

struct Done {};
using Status = Result<Done>;

}  // namespace meniscus::engine
