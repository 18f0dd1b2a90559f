// Orders from HL7 v2: files, standard input, or one message of a service.
//
//   Hl7Source source(std::move(input), context);
//   while (source.next(block)) ...
//
// Takes:    bytes of any framing (message_stream.hpp); kinds, versions and deviations as in
//           docs/formats-hl7.md.
// Gives:    one lane an order or given injection.  A message that holds none gives one lane that
//           says why; a batch whose trailer counts otherwise than was read gives one too.
// Lifetime: text is valid until the next next().
// Threads:  one reader a source.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "adapters/hl7v2/batch_count.hpp"
#include "adapters/hl7v2/message.hpp"
#include "adapters/hl7v2/message_stream.hpp"
#include "engine/order/field_text.hpp"
#include "engine/ports/byte_source.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters::hl7v2 {

/// What an answer must know of the message that a lane came from (hl7_ack_sink.hpp).
struct MessageFrame {
  bool framed = false;             // MLLP
  bool last = false;               // the lane is the message's last
  bool message = false;            // it came from a message, not from a trailer or other text
  const Message* split = nullptr;  // that message, until the next next(); null where it has none
};

/// The part of a source that the answer writer asks for.
class FramedSource {
 public:
  FramedSource() = default;
  FramedSource(const FramedSource&) = delete;
  FramedSource& operator=(const FramedSource&) = delete;
  virtual ~FramedSource() = default;
  /// Of a lane of the current block.
  [[nodiscard]] virtual MessageFrame frame(unsigned lane) const = 0;
};

class Hl7Source : public engine::OrderSource, public FramedSource {
 public:
  Hl7Source(engine::Input input, const engine::ReadContext& context);
  ~Hl7Source() override;

  bool next(engine::OrderBlock& block) override;
  /// After the end: what the bytes give from now on is a new input (one frame of a service after
  /// the other), read in the same memory.
  void restart();
  [[nodiscard]] engine::Place place(const engine::OrderBlock& block, unsigned lane,
                                    engine::FieldId field, engine::Origin origin) const override;
  [[nodiscard]] engine::Place record_place(const engine::OrderBlock& block,
                                           unsigned lane) const override;
  [[nodiscard]] engine::FieldSet never_carries() const override;
  [[nodiscard]] MessageFrame frame(unsigned lane) const override;

 protected:
  /// `units` must live until the source is used no more.
  Hl7Source(std::string name, std::uint32_t file, UnitSource& units,
            const engine::ReadContext& context);
  /// restart(), behind so many messages of an input and what its batches have counted until there.
  void restart_behind(std::uint32_t messages, const BatchCount& batches);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace meniscus::adapters::hl7v2
