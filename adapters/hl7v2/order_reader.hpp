// One message's orders into the lanes of a block.
//
//   reader.begin(unit, number, message);     // plans the message
//   while (!block.full() && reader.read_next(block)) ...
//
// An order: one ORC up to the next ORC; a further RXE (or RXO without RXE) in it is an order of
//           its own; each RXA is a given injection of its own.
// Attached: TQ1, RXR, RXC, NTE and OBX belong to the nearest RX segment before them; the RXR after
//           several RXA belongs to all of them.
// Wins:     RXG over RXE over RXO; a dose of the RXO that differs is kept as stated.dose.
// Merges:   a message that says that two patients are one gives a lane for each such pair.
// Refuses:  other kinds of message (outside), and what cannot be read as an order (unreadable),
//           each with its reason and place.
// Doubt:    fields that look shifted, glued segments, two timings, a unit field that holds a
//           number: said, never guessed.
// Fields:   docs/formats-hl7.md has the map.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/hl7v2/body_memo.hpp"
#include "adapters/hl7v2/escape.hpp"
#include "adapters/hl7v2/feed_places.hpp"
#include "adapters/hl7v2/merges.hpp"
#include "adapters/hl7v2/message.hpp"
#include "adapters/hl7v2/message_stream.hpp"
#include "adapters/hl7v2/order_plan.hpp"
#include "engine/order/field_text.hpp"
#include "engine/order/free_text_memo.hpp"

namespace meniscus::adapters::hl7v2 {

/// Cuts a message's segments into orders.
void plan_orders(const Message& message, std::vector<OrderPlan>& plans);

class OrderReader {
 public:
  OrderReader(const engine::ReadContext& context, std::uint32_t file)
      : context_(context), file_(file), places_(feed_places(*context.feed)) {}

  /// Takes a unit of kind Message, and splits it into `message`.  Both, and the unit's text, must
  /// live until it is done.
  void begin(const Unit& unit, std::uint32_t number, Message& message);
  /// The message that was begun stands here now.
  void moved(const Message& message) { message_ = &message; }
  /// Fills the next lane; false when the message has no more.
  bool read_next(engine::OrderBlock& block);
  /// True once read_next() has given the message's last lane.
  [[nodiscard]] bool is_done() const { return refused_ || next_ == lanes(); }

 private:
  [[nodiscard]] engine::RecordKind classify(std::string& reason, std::string_view& place) const;
  unsigned open_lane(engine::OrderBlock& block) const;
  [[nodiscard]] std::size_t lanes() const {
    return merges_.empty() ? plans_.size() : merges_.size();
  }
  void fill(engine::OrderBlock& block, unsigned lane, const OrderPlan& plan);

  const engine::ReadContext& context_;
  std::uint32_t file_;
  std::vector<FeedPlace> places_;
  std::uint32_t number_ = 0;
  Unit unit_;
  const Message* message_ = nullptr;
  Converter converter_;
  TextCoding coding_;
  std::optional<engine::Date> date_;
  std::vector<OrderPlan> plans_;
  BodyMemo bodies_;
  engine::ValueMemo dates_;
  engine::FreeTextMemo texts_;
  std::vector<MergePlan> merges_;  // of a message that merges patients: instead of orders
  std::size_t next_ = 0;
  bool refused_ = false;  // the message gives one lane with a reason, and no orders
};

}  // namespace meniscus::adapters::hl7v2
