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
// Shared:    what records say, but for ids and dates, is kept once for all that say the same: a
//            clinic's orders repeat the same few, and a patient's still more so.
// Bounded:   a patient's records older than the look-back before that patient's newest event are
//            dropped, and their memory is used again.
#pragma once

#include <algorithm>
#include <array>
#include <boost/container/small_vector.hpp>
#include <cstdint>
#include <limits>
#include <memory>
#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/flat_map.hpp"
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

/// Which fields records remember, and where each stands in them.
struct KeptFields {
  static constexpr std::uint8_t kNowhere = 255;

  /// What is kept of a field's text.
  enum class Text : std::uint8_t {
    Nothing,
    Known,    // the text itself: ids and free text
    Word,     // once for all records; a word that no table knows as it is
    Written,  // as it was written, for rules that read that
  };
  struct Kept {
    FieldId field{};
    Text text{};
    std::uint8_t text_slot = kNowhere;
    std::uint8_t date_slot = kNowhere;  // dates differ from order to order: each record has its own
    bool list = false;                  // the parts of a list live in the block: not remembered
  };
  std::vector<Kept> fields;
  std::size_t texts = 0;  // how many of them keep a text
  std::size_t dates = 0;  // how many are dates; at most 16, as Dates has bits
  std::array<std::uint8_t, 128> slot{};
};

/// One remembered value; what it is not is in `known` and `none`.
struct KeptValue {
  double number = 0;
  std::uint64_t aux = 0;
};

/// What one record says, or many: never changed while somebody uses it.
struct RecordContents {
  FieldSet known;  // by slot
  FieldSet none;
  std::span<KeptValue> slots;         // one a kept field; all room is the History's
  std::span<std::string_view> texts;  // the text, or as written where rules read that
  std::span<char> text_room;
  std::uint64_t hash = 0;  // 0: one record's alone
  std::uint32_t users = 0;
};

/// One remembered order or injection.
struct HistoryRecord {
  EventKind kind = EventKind::Ordered;
  bool cancelled = false;
  bool replaced = false;   // by a later version of the same order
  bool fulfilled = false;  // a given injection stands for its planned one
  bool stopped = false;
  std::uint16_t known_dates = 0;  // by date slot
  std::uint16_t none_dates = 0;
  std::int32_t day = 0;        // of `when`, since 1970-01-01
  double stopped_at = 0;       // local seconds, when stopped
  std::uint64_t sequence = 0;  // order of receipt
  double when = 0;             // event time, local seconds
  std::uint64_t when_packed = 0;
  double active_until = 0;  // local seconds of the last planned dose; infinite when none is known
  Word id = kNoWord;        // placer number
  Word filler = kNoWord;    // filler number
  Word fulfils = kNoWord;
  Word substance = kNoWord;

  const KeptFields* kept = nullptr;
  const RecordContents* contents = nullptr;  // the History's
  KeptValue* dates = nullptr;                // by date slot; the History's

  [[nodiscard]] Value value(FieldId field) const {
    const std::uint8_t slot = kept->slot[index(field)];
    if (slot == KeptFields::kNowhere) return Value::missing();
    const std::uint8_t date = kept->fields[slot].date_slot;
    if (date != KeptFields::kNowhere) {
      if ((known_dates >> date & 1U) != 0)
        return {dates[date].number, dates[date].aux, text(slot), State::Known};
      return (none_dates >> date & 1U) != 0 ? Value::none() : Value::missing();
    }
    if (contents->known.test(slot)) {
      const KeptValue& s = contents->slots[slot];
      return {s.number, s.aux, text(slot), State::Known};
    }
    return contents->none.test(slot) ? Value::none() : Value::missing();
  }
  /// The word of a field; kNoWord where it has none, or one that no table knows.
  [[nodiscard]] Word word(FieldId field) const {
    if (field == FieldId::SubstanceCode) return substance;
    const std::uint8_t slot = kept->slot[index(field)];
    const bool there = slot != KeptFields::kNowhere && contents->known.test(slot);
    return there ? contents->slots[slot].aux : kNoWord;
  }
  [[nodiscard]] bool is_known(FieldId field) const { return value(field).known(); }
  [[nodiscard]] std::string_view written(FieldId field) const {
    const std::uint8_t slot = kept->slot[index(field)];
    return slot == KeptFields::kNowhere ? std::string_view{} : text(slot);
  }
  [[nodiscard]] std::string_view text(std::uint8_t slot) const {
    const std::uint8_t at = kept->fields[slot].text_slot;
    return at == KeptFields::kNowhere ? std::string_view{} : contents->texts[at];
  }
  /// Same placer or filler number.
  [[nodiscard]] bool same_order(Word other_id, Word other_filler) const {
    return (id != kNoWord && id == other_id) || (filler != kNoWord && filler == other_filler);
  }
};

class History {
 public:
  /// Most patients of a run come once or twice: their lists need no memory of their own.
  using Records = boost::container::small_vector<const HistoryRecord*, 2>;

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
  HistoryRecord& take();
  void give_back(const HistoryRecord* record);
  void take_standing(Word patient, HistoryRecord& record);
  void fill(HistoryRecord& record, const OrderBlock& block, unsigned lane);
  void take_date(HistoryRecord& record, std::size_t slot, const OrderBlock& block, unsigned lane);
  void take_value(std::size_t slot, const OrderBlock& block, unsigned lane);
  [[nodiscard]] std::string_view text_of(std::size_t slot, const OrderBlock& block,
                                         unsigned lane) const;
  [[nodiscard]] bool is_word(const RecordContents& contents, std::size_t slot) const;
  [[nodiscard]] std::uint64_t hash_of(const RecordContents& contents) const;
  [[nodiscard]] bool same(const RecordContents& a, const RecordContents& b) const;
  const RecordContents* shared(const RecordContents& draft);
  RecordContents& copy(const RecordContents& draft);
  static void insert(Records& records, const HistoryRecord& record);
  std::string_view word_text(Word word, std::string_view text);
  void own_texts(RecordContents& contents);
  void drop_old(Records& records);
  void release(Records& records);
  void end_order(Records& records, const OrderBlock& block, unsigned lane, const Value& event,
                 bool cancel);

  double look_back_;
  double since_ = kAlways;
  KeptFields kept_;
  FlatMap<Records> patients_;
  FlatMap<Word> merged_;             // by a former id, what it was merged into
  FlatMap<std::string_view> words_;  // the text of a word, once for all records
  std::vector<HistoryRecord*> free_;
  std::vector<std::pair<Word, HistoryRecord*>> aside_;  // by patient; hardly ever one
  Arena<HistoryRecord> records_room_;
  FlatMap<RecordContents*> shared_;  // by hash
  std::vector<RecordContents*> free_contents_;
  RecordContents draft_;  // of the record that is being added; its texts are still the block's
  std::vector<KeptValue> draft_slots_;
  std::vector<std::string_view> draft_texts_;
  Arena<RecordContents> contents_room_;
  Arena<KeptValue> slots_;
  Arena<std::string_view> text_slots_;
  Arena<char> texts_;
  std::uint64_t sequence_ = 0;
  std::size_t records_ = 0;
};

/// The action of a lane (order.action), read once for evaluation and history alike.
enum class Action : std::uint8_t { New, Change, Stop, Cancel, Given };
Action action_of(const OrderBlock& block, unsigned lane);

}  // namespace meniscus::engine
