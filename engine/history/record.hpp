// What history remembers of one order or injection, and how little room that takes.
//
// Layers:  a record has its ids, its time and what became of it; DatedContents how far its dates
//          lie from its time; RecordContents everything else that rules read back.  A clinic's
//          orders repeat the same few medicines, doses and distances, so the last two are kept once
//          for all that say the same (record_pool.hpp).
// Time:    local seconds since 1970-01-01; days since then.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <span>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

enum class EventKind : std::uint8_t { Ordered, Given };

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
    std::uint8_t date_slot = kNowhere;  // dates differ from order to order: see DatedContents
    bool list = false;                  // the parts of a list live in the block: not remembered
  };
  std::vector<Kept> fields;
  std::size_t texts = 0;  // how many of them keep a text
  std::size_t dates = 0;  // how many are dates; at most 16, as DatedContents has bits
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
  Word substance = kNoWord;
  std::span<KeptValue> slots;         // one a kept field; all room is the pool's
  std::span<std::string_view> texts;  // the text, or as written where rules read that
  std::span<char> text_room;
  std::uint64_t hash = 0;   // 0: found by nobody else
  std::uint32_t users = 0;  // DatedContents
};

/// Contents, and the dates beside them by their distance from the record's event: an order that is
/// written on the day it begins says so in the same way on every day.
struct DatedContents {
  static constexpr std::int32_t kEndless = std::numeric_limits<std::int32_t>::max();

  const RecordContents* contents = nullptr;
  const KeptFields* kept = nullptr;
  KeptValue* dates = nullptr;  // by date slot: seconds after the event, and the date's kind
  Word substance = kNoWord;    // as in the contents, asked for most
  std::uint64_t hash = 0;      // 0: found by nobody else
  std::uint32_t users = 0;     // records
  std::int32_t active_days = kEndless;  // to the last planned dose; kEndless when none is known
  std::uint16_t known_dates = 0;        // by date slot
  std::uint16_t none_dates = 0;
};

/// The day of a date's seconds.
inline std::int32_t day_of(double seconds) {
  return static_cast<std::int32_t>(Date{static_cast<std::int64_t>(seconds)}.day());
}

/// One remembered order or injection.  May be copied: the pool counts who is in a patient's list.
struct HistoryRecord {
  double when = 0;        // event time
  double stopped_at = 0;  // when stopped
  Word id = kNoWord;      // placer number
  Word filler = kNoWord;  // filler number
  const DatedContents* said = nullptr;
  std::uint32_t sequence = 0;  // order of receipt; comes round, see came_after()
  std::int16_t when_offset = 0;
  Precision when_precision : 3 = Precision::Day;
  bool when_has_offset : 1 = false;
  EventKind kind : 1 = EventKind::Ordered;
  bool cancelled : 1 = false;
  bool replaced : 1 = false;   // by a later version of the same order
  bool fulfilled : 1 = false;  // a given injection stands for its planned one
  bool stopped : 1 = false;

  [[nodiscard]] std::int32_t day() const { return day_of(when); }
  /// `when` as a value of its own.
  [[nodiscard]] Value event() const {
    return {when, pack({0, when_precision, when_has_offset, when_offset}), {}, State::Known};
  }
  [[nodiscard]] Word substance() const { return said->substance; }

  [[nodiscard]] Value value(FieldId field) const {
    const std::uint8_t slot = said->kept->slot[index(field)];
    if (slot == KeptFields::kNowhere) return Value::missing();
    const std::uint8_t date = said->kept->fields[slot].date_slot;
    if (date != KeptFields::kNowhere) {
      if ((said->known_dates >> date & 1U) != 0)
        return {when + said->dates[date].number, said->dates[date].aux, text(slot), State::Known};
      return (said->none_dates >> date & 1U) != 0 ? Value::none() : Value::missing();
    }
    const RecordContents& contents = *said->contents;
    if (contents.known.test(slot)) {
      const KeptValue& s = contents.slots[slot];
      return {s.number, s.aux, text(slot), State::Known};
    }
    return contents.none.test(slot) ? Value::none() : Value::missing();
  }
  /// The word of a field; kNoWord where it has none, or one that no table knows.
  [[nodiscard]] Word word(FieldId field) const {
    if (field == FieldId::SubstanceCode) return said->substance;
    const std::uint8_t slot = said->kept->slot[index(field)];
    const bool there = slot != KeptFields::kNowhere && said->contents->known.test(slot);
    return there ? said->contents->slots[slot].aux : kNoWord;
  }
  [[nodiscard]] std::string_view written(FieldId field) const {
    const std::uint8_t slot = said->kept->slot[index(field)];
    return slot == KeptFields::kNowhere ? std::string_view{} : text(slot);
  }
  [[nodiscard]] std::string_view text(std::uint8_t slot) const {
    const std::uint8_t at = said->kept->fields[slot].text_slot;
    return at == KeptFields::kNowhere ? std::string_view{} : said->contents->texts[at];
  }
  /// Same placer or filler number.
  [[nodiscard]] bool same_order(Word other_id, Word other_filler) const {
    return (id != kNoWord && id == other_id) || (filler != kNoWord && filler == other_filler);
  }
  /// Received later than `other`.  Right as long as fewer than 2^31 records came between the two
  /// (serial numbers as in RFC 1982).
  [[nodiscard]] bool came_after(const HistoryRecord& other) const {
    return static_cast<std::int32_t>(sequence - other.sequence) > 0;
  }
};
static_assert(sizeof(HistoryRecord) <= 48, "a million records are to fit into 100 MB");

}  // namespace meniscus::engine
