// The lane of a block that a JSON record is read into, and what its readers share.
//
// Used by:  plain_object.hpp (the usual shape of a record) and order_json.cpp (every shape).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/json/json_keys.hpp"
#include "engine/order/field_text.hpp"

namespace meniscus::adapters {

bool is_quantity(engine::FieldKind kind);
/// Kinds whose text may be a bare JSON number.  A bare number for a quantity is handed on too, and
/// found to have no unit.
bool takes_number(engine::FieldKind kind);

struct JsonTarget {
  explicit JsonTarget(const engine::ReadContext& feed_context);

  /// The next record, before anything of it is read.
  void start(engine::OrderBlock& into, unsigned into_lane, std::string_view text);

  [[nodiscard]] engine::Origin origin_of(std::string_view part) const {
    return {static_cast<std::uint32_t>(part.data() - record.data()),
            static_cast<std::uint32_t>(part.size())};
  }
  void doubt(engine::FieldId field, std::string why, std::string_view written) const {
    block->doubt(lane, field, std::move(why), written, origin_of(written));
  }
  void set(engine::FieldId field, const engine::Value& value, std::string_view written) const {
    block->set(lane, field, value, written, origin_of(written));
  }
  /// The value of the key of `group` stands at `value`; of a key given twice, the first counts.
  void group_stands_at(std::uint8_t group, const char* value) {
    std::uint32_t& place = places.at(lane).at(group);
    if (place == kNowhere) place = static_cast<std::uint32_t>(value - record.data());
  }

  /// `"draw-needle": null`: it is known that there is none.  The order, its patient and its
  /// medicine cannot be none; those are just not there.
  void no_group(std::uint8_t group, std::string_view token) const;
  /// One word of a list; `token` has its quotes.
  void list_word(engine::FieldId field, std::string_view content, std::string_view token);
  /// The list in `items`; `whole` is all of it as written.
  void set_list(engine::FieldId field, std::string_view whole) const;

  engine::ReadContext context;
  engine::Feed json_feed;
  engine::ReadContext numbers;  // a JSON number has a point whatever the feed writes in its texts
  engine::ValueMemo texts_read;
  engine::ValueMemo numbers_read;
  KeyGuess guess;
  std::vector<engine::ListItem> items;

  engine::OrderBlock* block = nullptr;
  unsigned lane = 0;
  std::string_view record;
  engine::FieldSet seen;

  /// By lane of the block and group: where the object stands in its record.
  static constexpr std::uint32_t kNowhere = 0xFFFFFFFF;
  std::array<std::array<std::uint32_t, kMostGroups>, engine::kLanes> places{};
};

}  // namespace meniscus::adapters
