// The two directions in which a program goes field by field: ArchiveWriter and ArchiveReader have
// the same members, so that one description of a struct (transfer.hpp) serves both.
//
// Failure: the reader's first wrong byte makes it failed; from then on it gives zeros and empty
//          texts, and lists without parts.  Ask good() once, at the end.
// Texts:   std::string_view points into the reader's bytes; std::string is a copy.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace meniscus::adapters {

/// Unsigned, as wide as T.
template <class T>
using Carrier = std::conditional_t<
    sizeof(T) == 8, std::uint64_t,
    std::conditional_t<sizeof(T) == 4, std::uint32_t,
                       std::conditional_t<sizeof(T) == 2, std::uint16_t, std::uint8_t>>>;

class ArchiveWriter {
 public:
  static constexpr bool kReads = false;

  template <class T>
  void number(const T& value) {
    auto bits = std::bit_cast<Carrier<T>>(value);
    std::array<char, sizeof(T)> bytes{};
    for (char& byte : bytes) {
      byte = static_cast<char>(bits & 0xFFU);
      if constexpr (sizeof(T) > 1) bits >>= 8U;
    }
    out_.append(bytes.data(), bytes.size());
  }
  template <class T>
  void choice(const T& value, T /*last*/) {
    number(value);
  }
  void flag(bool value) { number(static_cast<std::uint8_t>(value ? 1 : 0)); }
  void text(std::string_view value) {
    number(static_cast<std::uint32_t>(value.size()));
    out_.append(value);
  }
  template <class T, class Each>
  void list(const std::vector<T>& values, std::size_t /*least*/, Each&& each) {
    number(static_cast<std::uint32_t>(values.size()));
    for (const T& value : values)
      each(value);
  }
  template <class T, class Each>
  void maybe(const std::optional<T>& value, Each&& each) {
    flag(value.has_value());
    if (value) each(*value);
  }
  [[nodiscard]] std::string take() { return std::move(out_); }

 private:
  std::string out_;
};

class ArchiveReader {
 public:
  static constexpr bool kReads = true;

  explicit ArchiveReader(std::string_view bytes) : left_(bytes) {}

  template <class T>
  void number(T& value) {
    Carrier<T> bits = 0;
    if (!has(sizeof(T))) return;
    for (std::size_t i = 0; i < sizeof(T); ++i)
      bits = static_cast<Carrier<T>>(
          bits | static_cast<Carrier<T>>(static_cast<Carrier<T>>(byte(i)) << 8U * i));
    left_.remove_prefix(sizeof(T));
    value = std::bit_cast<T>(bits);
  }
  /// An enumerator up to `last`.
  template <class T>
  void choice(T& value, T last) {
    std::underlying_type_t<T> number_of = 0;
    number(number_of);
    if (number_of > static_cast<std::underlying_type_t<T>>(last)) return fail();
    value = static_cast<T>(number_of);
  }
  void flag(bool& value) {
    std::uint8_t bit = 0;
    number(bit);
    if (bit > 1) fail();
    value = bit == 1;
  }
  void text(std::string_view& value) {
    std::uint32_t size = 0;
    number(size);
    if (!has(size)) return;
    value = left_.substr(0, size);
    left_.remove_prefix(size);
  }
  void text(std::string& value) {
    std::string_view view;
    text(view);
    value = view;
  }
  /// `least`: bytes that one part takes at least, so that a count is worth its memory.
  template <class T, class Each>
  void list(std::vector<T>& values, std::size_t least, Each&& each) {
    std::uint32_t count = 0;
    number(count);
    if (!has(std::size_t{count} * least)) return;
    values.resize(count);
    for (T& value : values) {
      each(value);
      if (!good_) return values.clear();
    }
  }
  template <class T, class Each>
  void maybe(std::optional<T>& value, Each&& each) {
    bool is_there = false;
    flag(is_there);
    if (is_there) each(value.emplace());
  }
  void fail() {
    good_ = false;
    left_ = {};
  }
  [[nodiscard]] bool good() const { return good_; }
  [[nodiscard]] std::string_view left() const { return left_; }

 private:
  [[nodiscard]] std::uint8_t byte(std::size_t at) const {
    return static_cast<std::uint8_t>(left_[at]);
  }
  bool has(std::size_t size) {
    if (good_ && size <= left_.size()) return true;
    fail();
    return false;
  }

  std::string_view left_;
  bool good_ = true;
};

}  // namespace meniscus::adapters
