// The rarely taken paths of a block of orders (contract: order_block.hpp).
#include "engine/order/order_block.hpp"

#include <algorithm>
#include <utility>

namespace meniscus::engine {
namespace {

std::uint32_t absent_key(unsigned lane, FieldId field) {
  return lane << 8 | static_cast<std::uint32_t>(field);
}

}  // namespace

OrderBlock::OrderBlock() : columns_(kFieldCount), records_(kLanes) {}

void OrderBlock::clear() {
  // What the columns hold is never read where the masks are clear, so only masks are reset.
  for (Column& column : columns_) {
    if (column.present == 0) continue;
    column.known = column.none = column.from_text = column.present = column.apart = 0;
  }
  std::fill_n(message_dates_.begin(), size_, Value::missing());
  size_ = 0;
  doubts_.clear();
  items_.clear();
  absent_.clear();
  arena_used_ = 0;
}

unsigned OrderBlock::add_lane() {
  RecordInfo& record = records_[size_];
  std::string reason = std::move(record.reason);  // its capacity is kept
  reason.clear();
  record = RecordInfo{};
  record.reason = std::move(reason);
  return size_++;
}

void OrderBlock::reopen_last_lane() {
  const unsigned lane = size_ - 1;
  const Lanes others = ~(Lanes{1} << lane);
  for (Column& column : columns_) {
    column.known &= others;
    column.none &= others;
    column.from_text &= others;
    column.present &= others;
    column.apart &= others;
  }
  std::erase_if(doubts_, [lane](const Doubt& doubt) { return doubt.lane == lane; });
  std::erase_if(absent_, [lane](const auto& entry) { return entry.first >> 8 == lane; });
  message_dates_[lane] = Value::missing();
}

void OrderBlock::doubt(unsigned lane, FieldId field, std::string reason, std::string_view written,
                       Origin origin) {
  set(lane, field, Value::missing(), written, origin);
  doubts_.push_back(
      {static_cast<std::uint8_t>(lane), field, std::move(reason), std::string(written), origin});
}

void OrderBlock::set_absent_place(unsigned lane, FieldId field, Origin origin) {
  absent_.emplace_back(absent_key(lane, field), origin);
}

std::uint64_t OrderBlock::add_items(const std::vector<ListItem>& items) {
  const std::uint64_t first = items_.size();
  items_.insert(items_.end(), items.begin(), items.end());
  return first << 32 | items.size();
}

std::string_view OrderBlock::keep(std::string_view text) {
  if (arena_used_ == arena_.size()) arena_.emplace_back();
  std::string& kept = arena_[arena_used_++];
  kept.assign(text);
  return kept;
}

std::string_view OrderBlock::written(unsigned lane, FieldId field) const {
  const Column& c = columns_[index(field)];
  if ((c.present >> lane & 1U) == 0) return {};
  if ((c.apart >> lane & 1U) != 0) return c.written_apart[lane];
  return {records_[lane].text.data() + c.origin[lane].offset, c.origin[lane].length};
}

Origin OrderBlock::origin(unsigned lane, FieldId field) const {
  const Column& c = columns_[index(field)];
  if ((c.present >> lane & 1U) != 0) return c.origin[lane];
  const std::uint32_t key = absent_key(lane, field);
  const auto found = std::find_if(absent_.rbegin(), absent_.rend(),
                                  [key](const auto& entry) { return entry.first == key; });
  return found == absent_.rend() ? Origin{} : found->second;
}

void OrderBlock::set_message_date(unsigned lane, const Date& date) {
  message_dates_[lane] = Value::date(date);
}

Value OrderBlock::message_date(unsigned lane) const { return message_dates_[lane]; }

}  // namespace meniscus::engine
