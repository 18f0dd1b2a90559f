// A block of up to 64 orders, one column a field.
//
// Why columns: rules run over columns (eval/columns.hpp), and a reader fills them without an
//              allocation per order.  One live order is a block with one lane.
// Lifetime:    text is a view into the reader's buffer or into the block's own arena; both live
//              until the block is cleared.  Whoever keeps an order (history) copies it.
// Origin:      where a field's text stands, as bytes from the start of its record (a line, a
//              message, a JSON document, a CSV record). Line, column, pointer or HL7 path are
//              worked out by the reader only when somebody asks (ports/order_source.hpp).
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

inline constexpr unsigned kLanes = 64;
using Lanes = std::uint64_t;  // one bit an order

struct Origin {
  std::uint32_t offset = 0;  // bytes from the record's start
  std::uint32_t length = 0;  // 0: the field is not there (the place is then its object's)
  friend bool operator==(const Origin&, const Origin&) = default;
};

/// One part of a list field.
struct ListItem {
  Value self;  // a word or text (allergies)
  std::array<Value, kItemFieldCount> parts;
  std::string_view written;
  Origin origin;
};

/// A field that was there but could not be read, or could mean two things.
struct Doubt {
  std::uint8_t lane = 0;
  FieldId field{};
  std::string reason;   // for people: "`0,25` has a decimal comma; the feed declares a point"
  std::string written;  // the text in doubt
  Origin origin;
};

enum class RecordKind : std::uint8_t {
  Order,       // judged (or recorded, by its action)
  Unreadable,  // could not be read as an order: `reason` says why
  Outside,     // no injection order (oral ...): `reason` says why
  Merge        // two patients' records are of one person: `former` is patient.id from now on
};

struct RecordInfo {
  RecordKind kind = RecordKind::Order;
  std::uint32_t message = 0;  // counts the inputs' messages (HL7) or records
  std::uint32_t file = 0;     // which input
  std::uint64_t offset = 0;   // of the record in its input, bytes
  std::uint64_t line = 1;     // first line of the record, from 1
  std::string_view text;      // the record's bytes
  std::string reason;         // Unreadable, Outside
  std::string_view former;    // Merge: the patient's id that is no longer used
  Origin reason_origin;
};

class OrderBlock {
 public:
  OrderBlock();

  /// Empties the block; capacity is kept.
  void clear();
  /// Opens the next lane.  Callers check full() first.
  unsigned add_lane();
  /// Empties the last lane, for a reader that has to start over; its record is kept.
  void reopen_last_lane();
  /// Takes the last lane back, emptied.
  void drop_last_lane() {
    reopen_last_lane();
    --size_;
  }
  [[nodiscard]] unsigned size() const { return size_; }
  [[nodiscard]] bool full() const { return size_ == kLanes; }
  [[nodiscard]] Lanes lanes() const {
    return size_ == kLanes ? ~Lanes{0} : (Lanes{1} << size_) - 1;
  }

  // ---- writing (readers)

  /// Sets one field.  `written` is the text as it stands in the input.
  void set(unsigned lane, FieldId field, const Value& value, std::string_view written,
           Origin origin, bool from_text = false) {
    Column& c = columns_[index(field)];
    const Lanes bit = Lanes{1} << lane;
    c.known = value.state == State::Known ? c.known | bit : c.known & ~bit;
    c.none = value.state == State::None ? c.none | bit : c.none & ~bit;
    c.from_text = from_text ? c.from_text | bit : c.from_text & ~bit;
    c.present |= bit;
    c.apart &= ~bit;
    fill(c, lane, value, written, origin);
  }
  /// The same for a known value; quick where nothing was set there before.
  void set_known(unsigned lane, FieldId field, const Value& value, std::string_view written,
                 Origin origin) {
    Column& c = columns_[index(field)];
    const Lanes bit = Lanes{1} << lane;
    if ((c.present & bit) != 0) return set(lane, field, value, written, origin);
    c.known |= bit;
    c.present |= bit;
    fill(c, lane, value, written, origin);
  }
  /// Remembers that a field was there but is in doubt: it stays missing, its text is kept.
  void doubt(unsigned lane, FieldId field, std::string reason, std::string_view written,
             Origin origin);
  /// Where to point when `field` is absent: its object's place (`/needle` for needle.gauge).
  void set_absent_place(unsigned lane, FieldId field, Origin origin);

  /// Appends the items of a list field and returns the aux for its Value.
  std::uint64_t add_items(const std::vector<ListItem>& items);
  /// Keeps text that is not in the input as it stands (unescaped, joined).
  std::string_view keep(std::string_view text);

  [[nodiscard]] RecordInfo& record(unsigned lane) { return records_[lane]; }

  // ---- reading (evaluation, writers)

  struct Column {
    Lanes known = 0;
    Lanes none = 0;
    Lanes from_text = 0;
    Lanes present = 0;  // something was set: known, none, or doubtful
    Lanes apart = 0;    // what was written is no piece of the record, but stands in `written_apart`
    std::array<double, kLanes> number;
    std::array<std::uint64_t, kLanes> aux;
    std::array<std::string_view, kLanes> text;
    std::array<std::string_view, kLanes> written_apart;
    std::array<Origin, kLanes> origin;
  };
  [[nodiscard]] const Column& column(FieldId field) const { return columns_[index(field)]; }
  [[nodiscard]] Value value(unsigned lane, FieldId field) const {
    const Column& c = columns_[index(field)];
    const Lanes bit = Lanes{1} << lane;
    if ((c.known & bit) != 0) return {c.number[lane], c.aux[lane], c.text[lane], State::Known};
    return (c.none & bit) != 0 ? Value::none() : Value::missing();
  }
  [[nodiscard]] std::string_view written(unsigned lane, FieldId field) const;
  [[nodiscard]] Origin origin(unsigned lane, FieldId field) const;
  [[nodiscard]] bool from_text(unsigned lane, FieldId field) const {
    return (columns_[index(field)].from_text >> lane & 1U) != 0;
  }
  [[nodiscard]] const RecordInfo& record(unsigned lane) const { return records_[lane]; }
  [[nodiscard]] const std::vector<Doubt>& doubts() const { return doubts_; }
  [[nodiscard]] const ListItem* items(std::uint64_t aux) const { return &items_[aux >> 32]; }
  static std::uint32_t item_count(std::uint64_t aux) { return static_cast<std::uint32_t>(aux); }

  /// The day the order is judged as of, if the input fixes one for it (message date); local
  /// seconds.
  void set_message_date(unsigned lane, const Date& date);
  [[nodiscard]] Value message_date(unsigned lane) const;

 private:
  void fill(Column& c, unsigned lane, const Value& value, std::string_view written, Origin origin) {
    c.number[lane] = value.number;
    c.aux[lane] = value.aux;
    c.text[lane] = value.text;
    c.origin[lane] = origin;
    const std::string_view record = records_[lane].text;
    if (origin.offset <= record.size() && written.data() == record.data() + origin.offset &&
        written.size() == origin.length)
      return;
    c.apart |= Lanes{1} << lane;
    c.written_apart[lane] = written;
  }

  unsigned size_ = 0;
  std::vector<Column> columns_;
  std::vector<RecordInfo> records_;
  std::vector<Doubt> doubts_;
  std::vector<ListItem> items_;
  std::array<Value, kLanes> message_dates_;
  std::vector<std::pair<std::uint32_t, Origin>> absent_;  // lane << 8 | field
  std::deque<std::string> arena_;                         // grows once; strings are reused
  std::size_t arena_used_ = 0;
};

}  // namespace meniscus::engine
