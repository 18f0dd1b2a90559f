// Text of a field -> its value in an order block.  Every reader uses this, so a field means the
// same in JSON, CSV and HL7.
//
// Doubt:   what cannot be read or could mean two things becomes a Doubt with its reason (finding
//          `doubtful-value`), and the field stays missing.  Nothing is guessed.
// Words:   looked up in the program's vocabularies after the feed's own translations.
#pragma once

#include <string_view>

#include "engine/order/feed.hpp"
#include "engine/order/order_block.hpp"
#include "engine/order/value_memo.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

struct ReadContext {
  const Program* program = nullptr;  // vocabularies; may be null: every word is then unknown
  const Feed* feed = nullptr;        // never null
  ValueMemo* memo = nullptr;         // the reader's own, for this program and feed; may be null
};

/// An id as a word: of its bytes as they stand, so `SM-12` and `sm-12` are two ids.
Word id_hash(std::string_view text);

/// Reads `text` as `field` by its kind and sets it, or a Doubt.  `written` is what stands in the
/// input (usually `text` itself); `from_text`: taken out of free text.  An empty text sets nothing.
void set_field(const ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
               std::string_view text, Origin origin, bool from_text = false);

/// The same as set_field; quick where the reader's memo knows the text.
inline void set_known_field(const ReadContext& context, OrderBlock& block, unsigned lane,
                            FieldId field, std::string_view text, Origin origin) {
  if (context.memo != nullptr && !text.empty() && text.size() <= ValueMemo::kLongest) {
    if (const Value* known = context.memo->find(ValueMemo::key(field, text), text)) {
      block.set_known(lane, field, *known, text, origin);
      return;
    }
  }
  set_field(context, block, lane, field, text, origin);
}

/// A number and its unit that stand apart (HL7 RXE-3 and RXE-5, {"value":50,"unit":"mg"}).
void set_quantity(const ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
                  std::string_view number, std::string_view unit, Origin origin);

/// Reads one part of a list's item.  False, with `reason`, when it cannot be read.
bool set_item_part(const ReadContext& context, OrderBlock& block, ListItem& item, ItemField part,
                   std::string_view text, std::string& reason);
/// One word of a list of words (an allergy), for formats that have lists of their own.
Value read_list_word(const ReadContext& context, FieldId field, std::string_view text);
/// Items from text: allergies `a; b`; components, steps and sites `part=value part=value; ...`
/// (CSV).
void set_list(const ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
              std::string_view text, Origin origin);

/// After all fields of a lane are set: what stands only in the medicine's name or in the directions
/// (strength `80mg/0.8mL`, vial content, volume, route, interval) is read into the fields that are
/// missing, marked from_text, or into `stated.*` beside the coded ones; substance.code is found
/// from substance.name; patient.age is derived from patient.born.
void complete(const ReadContext& context, OrderBlock& block, unsigned lane);

}  // namespace meniscus::engine
