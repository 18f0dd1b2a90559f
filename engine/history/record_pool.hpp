// What records say, kept once for all that say the same.
//
// Holds:   the contents and the distances of dates (record.hpp) by their hash, with the number of
//          those who use them; what nobody uses any more is used again for others.
// Texts:   of words once for all; others with the contents that say them.
#pragma once

#include <algorithm>
#include <cstdint>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

#include "engine/base/flat_map.hpp"
#include "engine/history/record.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::engine {

/// Hands out pieces of large blocks, so that many small things are not many allocations.
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
  static constexpr std::size_t kBlock = (std::size_t{1} << 15U) / sizeof(T);
  std::vector<std::unique_ptr<T[]>> blocks_;
  std::span<T> left_;
};

class RecordPool {
 public:
  /// `keep`, `keep_written`: what records remember.
  RecordPool(const FieldSet& keep, const FieldSet& keep_written);
  RecordPool(const RecordPool&) = delete;
  RecordPool& operator=(const RecordPool&) = delete;

  /// Lets `record`, whose time is known, say what the lane says.
  void fill(HistoryRecord& record, const OrderBlock& block, unsigned lane);
  /// The record is no more.
  void give_back(const HistoryRecord& record);

 private:
  void take_date(std::size_t slot, const OrderBlock& block, unsigned lane, double when);
  void take_value(std::size_t slot, const OrderBlock& block, unsigned lane);
  [[nodiscard]] std::string_view text_of(std::size_t slot, const OrderBlock& block,
                                         unsigned lane) const;
  /// The text of this slot is kept once for all records.
  [[nodiscard]] bool is_word(const RecordContents& contents, std::size_t slot) const {
    return kept_.fields[slot].text == KeptFields::Text::Word && contents.known[slot] &&
           contents.slots[slot].aux != kNoWord;
  }
  [[nodiscard]] std::uint64_t hash_of(const RecordContents& contents) const;
  [[nodiscard]] std::uint64_t hash_of(const DatedContents& dated) const;
  [[nodiscard]] bool same(const RecordContents& a, const RecordContents& b) const;
  [[nodiscard]] bool same(const DatedContents& a, const DatedContents& b) const;
  RecordContents& shared(const RecordContents& draft);
  DatedContents& shared(const DatedContents& draft);
  RecordContents& copy(const RecordContents& draft);
  DatedContents& copy(const DatedContents& draft);
  void give_back(const RecordContents* contents);
  std::string_view word_text(Word word, std::string_view text);
  void own_texts(RecordContents& contents);

  KeptFields kept_;
  std::vector<std::uint8_t> value_slots_;  // those that are no dates
  std::vector<std::uint8_t> date_slots_;
  std::vector<std::uint8_t> text_slots_;  // by text slot
  FlatMap<std::string_view> words_;       // the text of a word, once for all records
  FlatMap<RecordContents*> contents_;     // by hash
  FlatMap<DatedContents*> dated_;         // by hash
  std::vector<RecordContents*> free_contents_;
  std::vector<DatedContents*> free_dated_;
  RecordContents draft_;  // of the record that is being added; its texts are still the block's
  DatedContents dated_draft_;
  std::vector<KeptValue> draft_slots_;
  std::vector<KeptValue> draft_dates_;
  std::vector<std::string_view> draft_texts_;
  Arena<RecordContents> contents_room_;
  Arena<DatedContents> dated_room_;
  Arena<KeptValue> values_;
  Arena<std::string_view> views_;
  Arena<char> texts_;
};

}  // namespace meniscus::engine
