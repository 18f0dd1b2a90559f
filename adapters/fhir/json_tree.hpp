// A JSON record as a tree that remembers where everything stands.
//
// Why:      a resource of FHIR is read by name and by reference, not from front to end, and every
//           value must be found again in the input.
// Takes:    one JSON value in which json_problem() (support/json_scan.hpp) found nothing wrong.
// Numbers:  stay as they are written: 0.250 is `0.250`.
// Lifetime: elements and texts are views into the tree and the record, until the next parse().
#pragma once

#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters::fhir {

enum class JsonKind : std::uint8_t { Object, List, Text, Number, Truth, Null };

class JsonTree;

/// One value of a tree, or none.
class Element {
 public:
  Element() = default;
  Element(const JsonTree* tree, std::uint32_t index) : tree_(tree), index_(index) {}

  [[nodiscard]] bool exists() const { return tree_ != nullptr; }
  [[nodiscard]] bool is(JsonKind kind) const;
  /// The member of an object; none where there is no such key, or where this is no object.
  [[nodiscard]] Element operator[](std::string_view key) const;
  /// Of an object or a list, in order.
  [[nodiscard]] Element first() const;
  [[nodiscard]] Element next() const;
  /// Of a member, escapes undone.
  [[nodiscard]] std::string_view key() const;
  /// The content of a text, escapes undone; empty for everything else.
  [[nodiscard]] std::string_view text() const;
  /// As it stands in the record, with its quotes.
  [[nodiscard]] std::string_view token() const;
  /// Of a text its content, of an object or a list its bracket, else all of it.
  [[nodiscard]] engine::Origin origin() const;
  /// The object or list that holds it; none for the root.
  [[nodiscard]] Element parent() const;
  /// Its number among the items or members of its parent, from 0.
  [[nodiscard]] std::uint32_t ordinal() const;
  /// Of the first byte, in the record.
  [[nodiscard]] std::uint32_t begin() const;
  [[nodiscard]] std::uint32_t end() const;
  [[nodiscard]] bool is_true() const { return token() == "true"; }

 private:
  friend class JsonTree;
  const JsonTree* tree_ = nullptr;
  std::uint32_t index_ = 0;
};

class JsonTree {
 public:
  /// False when the record holds more values than are read (kMostValues).
  [[nodiscard]] bool parse(std::string_view record);
  [[nodiscard]] Element root() const { return {this, 0}; }
  /// The innermost value that holds the byte at `offset`; the root where none does.
  [[nodiscard]] Element at(std::size_t offset) const;
  /// A member, of any object within `element`, whose key stands twice in it; none: there is none.
  [[nodiscard]] Element twice_within(Element element) const;
  /// The same of the object's own members.
  [[nodiscard]] Element twice_in(Element object) const;

 private:
  friend class Element;
  static constexpr std::size_t kMostValues = std::size_t{8} << 20U;
  static constexpr std::uint32_t kNone = 0;  // the root is nobody's child

  struct Node {
    std::uint32_t begin = 0;
    std::uint32_t end = 0;
    std::uint32_t first = kNone;
    std::uint32_t next = kNone;
    std::uint32_t parent = kNone;
    std::uint32_t ordinal = 0;
    std::string_view key;
    std::string_view text;
    JsonKind kind = JsonKind::Null;
  };

  bool value(std::size_t& at);
  bool members(std::size_t& at, std::uint32_t parent, bool keyed);
  std::string_view string_at(std::size_t& at);
  void blanks(std::size_t& at) const;
  void find_twice(std::uint32_t object);

  std::string_view record_;
  std::vector<Node> nodes_;
  std::vector<std::uint32_t> twice_;
  std::deque<std::string> unescaped_;
};

/// Calls `take` for each item of a list; for the element itself where it is no list, as careless
/// senders leave the brackets away; not at all where there is none.
template <class Take>
void each(Element list, Take take) {
  if (!list.is(JsonKind::List)) {
    if (list.exists() && !list.is(JsonKind::Null)) take(list);
    return;
  }
  for (Element item = list.first(); item.exists(); item = item.next())
    take(item);
}

}  // namespace meniscus::adapters::fhir
