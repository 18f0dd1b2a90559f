// What the patients had before: records in memory, per patient, in order of event time.
//
// Holds:     compact copies of orders and given injections: only the fields that rules read back.
// Known then: a record counts for the orders judged after it was added (it was received by then),
//            whenever it happened; late records sort by when they happened.
// Identity:  orders are matched by placer or filler number.  A later version replaces its former
//            one, `stop` and `cancel` end it.  A `given` injection takes the place of the planned
//            injection of the order that it fulfils (order.fulfils, else the same number, else the
//            same substance planned at most three days away: common practice).
// Bounded:   a patient's records older than the look-back before that patient's newest event are
//            dropped, and their memory is used again.
#pragma once

#include <algorithm>
#include <cstdint>
#include <deque>
#include <memory>
#include <span>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/order/order_block.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

enum class EventKind : std::uint8_t { Ordered, Given };

/// Hands out pieces of large blocks, so that a million small records are not a million allocations.
template <class T>
class Arena {
 public:
  /// `count` values, valid as long as the arena.
  std::span<T> take(std::size_t count) {
    if (count > left_.size()) {
      blocks_.push_back(std::make_unique<T[]>(std::max(count, kBlock)));
      left_ = {blocks_.back().get(), std::max(count, kBlock)};
    }
    const std::span<T> piece = left_.first(count);
    left_ = left_.subspan(count);
    return piece;
  }

 private:
  static constexpr std::size_t kBlock = 4096;
  std::vector<std::unique_ptr<T[]>> blocks_;
  std::span<T> left_;
};

/// One remembered order or injection.
struct HistoryRecord {
  EventKind kind = EventKind::Ordered;
  bool cancelled = false;
  bool replaced = false;   // by a later version of the same order
  bool fulfilled = false;  // a given injection stands for its planned one
  bool stopped = false;
  double stopped_at = 0;       // local seconds, when stopped
  std::uint64_t sequence = 0;  // order of receipt
  double when = 0;             // event time, local seconds
  std::uint64_t when_packed = 0;
  Word id = kNoWord;      // placer number
  Word filler = kNoWord;  // filler number
  Word fulfils = kNoWord;
  Word substance = kNoWord;

  struct Field {
    FieldId field{};
    Value value;  // text points into `text_room`
    std::string_view written;
  };
  std::span<Field> fields;  // room and text are the History's, used again with the record
  std::span<Field> room;
  std::span<char> text_room;

  [[nodiscard]] Value value(FieldId field) const;
  [[nodiscard]] std::string_view written(FieldId field) const;
  /// Same placer or filler number.
  [[nodiscard]] bool same_order(Word other_id, Word other_filler) const {
    return (id != kNoWord && id == other_id) || (filler != kNoWord && filler == other_filler);
  }
  [[nodiscard]] std::int64_t day() const;
};

class History {
 public:
  using Records = std::vector<const HistoryRecord*>;

  /// `look_back`: seconds (Program::look_back).  `keep`, `keep_written`: what records remember.
  History(double look_back, const FieldSet& keep, const FieldSet& keep_written);
  ~History();
  History(const History&) = delete;
  History& operator=(const History&) = delete;

  /// Adds an order, a given injection, a stop or a cancellation.  `event`: when it happens (the
  /// planned day, the time given, the day of the stop).
  void add(const OrderBlock& block, unsigned lane, const Value& event);

  /// Records of one patient by event time, oldest first; empty when there are none.
  [[nodiscard]] const Records& of(Word patient) const;

  [[nodiscard]] std::size_t patients() const { return patients_.size(); }
  [[nodiscard]] std::size_t records() const { return records_; }

 private:
  HistoryRecord& take();
  void fill(HistoryRecord& record, const OrderBlock& block, unsigned lane);
  static void insert(Records& records, const HistoryRecord& record);
  void drop_old(Records& records);
  void end_order(Records& records, const OrderBlock& block, unsigned lane, const Value& event,
                 bool cancel);

  double look_back_;
  std::vector<FieldId> kept_;
  FieldSet keep_written_;
  std::unordered_map<Word, Records> patients_;
  std::deque<HistoryRecord> pool_;
  std::vector<HistoryRecord*> free_;
  Arena<HistoryRecord::Field> fields_;
  Arena<char> texts_;
  std::uint64_t sequence_ = 0;
  std::size_t records_ = 0;
};

/// The action of a lane (order.action), read once for evaluation and history alike.
enum class Action : std::uint8_t { New, Change, Stop, Cancel, Given };
Action action_of(const OrderBlock& block, unsigned lane);

}  // namespace meniscus::engine
