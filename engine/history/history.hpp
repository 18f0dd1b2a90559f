// What the patients had before: records in memory, per patient, in order of event time.
//
// Holds:     compact copies of orders and given injections (no text but what rules can read back).
// Known then: a record counts for the orders judged after it was added (it was received by then),
//            whenever it happened; late records sort by when they happened.
// Identity:  orders are matched by placer or filler number.  A `change` replaces its former
// version,
//            `stop` and `cancel` end it, a `given` that fulfils an order takes the place of that
//            order's planned injection (by order.fulfils, else same substance and a planned day at
//            most three days away), and the same number is never earlier than itself.
// Bounded:   records older than the program's look-back before the newest event are dropped.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/order/order_block.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

enum class EventKind : std::uint8_t { Ordered, Given };

/// One remembered order or injection.  `values` and `written` are sorted by field.
struct HistoryRecord {
  EventKind kind{};
  bool cancelled = false;
  bool stopped = false;
  bool replaced = false;       // by a later version of the same order
  bool fulfilled = false;      // a given injection stands for its planned one
  std::uint64_t sequence = 0;  // order of receipt
  double when = 0;             // event time, local seconds
  double stopped_at = 0;
  std::uint64_t when_packed = 0;
  Word id = kNoWord;  // placer number
  Word filler = kNoWord;
  Word substance = kNoWord;
  struct Field {
    FieldId field{};
    Value value;  // text points into `texts`
    std::string_view written;
  };
  std::vector<Field> fields;
  std::vector<std::unique_ptr<std::string>> texts;
  [[nodiscard]] Value value(FieldId field) const;
  [[nodiscard]] std::string_view written(FieldId field) const;
};

class History {
 public:
  /// `look_back`: seconds (Program::look_back).  `keep`: the fields that rules read from history.
  History(double look_back, const FieldSet& keep);
  ~History();
  History(const History&) = delete;
  History& operator=(const History&) = delete;

  /// Adds an order, a given injection, a stop or a cancellation; `planned_day` as evaluated.
  void add(const OrderBlock& block, unsigned lane, const Date& event);

  /// Records of one patient, by event time, oldest first; empty when there are none.
  [[nodiscard]] const std::vector<const HistoryRecord*>& of(std::string_view patient) const;

  [[nodiscard]] std::size_t patients() const;
  [[nodiscard]] std::size_t records() const;

 private:
  struct Patient;
  std::unordered_map<Word, std::unique_ptr<Patient>> patients_;
  double look_back_ = 0;
  FieldSet keep_;
  std::uint64_t sequence_ = 0;
  std::size_t records_ = 0;
};

}  // namespace meniscus::engine
