// What the patients had before: records in memory, per patient, in order of event time.
//
// Holds:     compact copies of orders and given injections: only the fields that rules read back.
// Known then: a record counts for the orders judged after it was added (it was received by then),
//            whenever it happened; late records sort by when they happened.
// Identity:  orders are matched by placer or filler number.  A later version replaces its former
//            one, `stop` and `cancel` end it.  A `given` injection takes the place of the planned
//            injection of the order that it fulfils (order.fulfils, else the same number, else the
//            same substance planned at most three days away: common practice).
// Merged:    two ids of one patient lead to the same records, whichever an order names.
// Shared:    what records say, but for ids and their time, is kept once for all that say the same:
// a
//            clinic's orders repeat the same few, and a patient's still more so (record.hpp).
// Bounded:   a patient's records older than the look-back before that patient's newest event are
//            dropped, and their memory is used again.
#pragma once

#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include "engine/base/flat_map.hpp"
#include "engine/history/patient_records.hpp"
#include "engine/history/record.hpp"
#include "engine/history/record_pool.hpp"
#include "engine/order/order_block.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

class History {
 public:
  using Records = PatientRecords;

  /// `look_back`: seconds (Program::look_back).  `keep`, `keep_written`: what records remember.
  History(double look_back, const FieldSet& keep, const FieldSet& keep_written);
  ~History();
  History(const History&) = delete;
  History& operator=(const History&) = delete;

  /// Adds an order, a given injection, a stop or a cancellation.  `event`: when it happens (the
  /// planned day, the time given, the day of the stop).
  void add(const OrderBlock& block, unsigned lane, const Value& event);

  /// Takes the newest record of the lane's order or injection out, which is judged once more as if
  /// for the first time; add() puts it back with what has become of it (given, stopped).  A stop or
  /// a cancellation has no record.
  void set_aside(const OrderBlock& block, unsigned lane);

  /// The records of `former` are those of `patient` too from now on, and later ones of either id
  /// stand together.
  void merge(Word former, Word patient);
  /// The id that a patient's records stand under: its own, or the one that it was merged into.
  [[nodiscard]] Word standing(Word patient) const;

  /// Drops what is known of a patient, as if nothing had come of it.  What was merged stays merged.
  void forget(Word patient);
  /// Drops everything, merges too.
  void forget_all();

  /// Records of one patient by event time, oldest first; empty when there are none.
  [[nodiscard]] const Records& of(Word patient) const;

  /// From when on everything is known, local seconds.  What a query could find before it is
  /// unknown, not none.
  static constexpr double kAlways = -std::numeric_limits<double>::infinity();
  [[nodiscard]] double since() const { return since_; }
  void set_since(double seconds) { since_ = seconds; }

  [[nodiscard]] std::size_t patients() const { return patients_.size(); }
  [[nodiscard]] std::size_t records() const { return records_; }

 private:
  HistoryRecord record_of(const OrderBlock& block, unsigned lane, EventKind kind,
                          const Value& event);
  void take_standing(Word patient, HistoryRecord& record);
  void drop_old(Records& records);
  void release(Records& records);
  void end_order(Records& records, const OrderBlock& block, unsigned lane, const Value& event,
                 bool cancel);

  double look_back_;
  double since_ = kAlways;
  RecordPool pool_;
  FlatMap<Records> patients_;
  FlatMap<Word> merged_;                               // by a former id, what it was merged into
  std::vector<std::pair<Word, HistoryRecord>> aside_;  // by patient; hardly ever one
  std::uint32_t sequence_ = 0;
  std::size_t records_ = 0;
};

/// The action of a lane (order.action), read once for evaluation and history alike.
enum class Action : std::uint8_t { New, Change, Stop, Cancel, Given };
Action action_of(const OrderBlock& block, unsigned lane);

}  // namespace meniscus::engine
