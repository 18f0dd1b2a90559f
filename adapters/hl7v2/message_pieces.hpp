// HL7 v2 cut into pieces of some messages that several threads read at once.
//
//   MessagePieces pieces(bytes);
//   while (pieces.take(piece)) {                   // one thread at a time
//     source.begin(piece);                         // its own thread's, from here on
//     while (source.next(block)) ...
//   }
//
// Cuts:    as MessageStream does, which it is.  What a piece holds does not depend on the number of
//          threads: messages until there are `most` of them, or bytes.
// Same:    the records of all pieces, in their order, are those of Hl7Source for the whole input:
//          places, numbers of messages, and what trailers of batches are held against.
// Copies:  a piece has its bytes for itself.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "adapters/hl7v2/batch_count.hpp"
#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/hl7v2/message_stream.hpp"
#include "engine/order/field_text.hpp"
#include "engine/order/order_block.hpp"
#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters::hl7v2 {

struct MessagePiece {
  std::string bytes;
  std::vector<Unit> units;     // their texts stand in `bytes`
  std::uint32_t messages = 0;  // of the input, before these
  BatchCount batches;          // what was counted before these
  std::string failure;         // why the input ended behind these, where it did not end by itself
  bool is_last = false;        // the input ends behind these
};

/// How much a piece holds: no more than `units`, and of `bytes` no more than the last one goes
/// over.
struct PieceLimits {
  std::size_t units = engine::kLanes;
  std::size_t bytes = std::size_t{192} << 10U;
};

class MessagePieces {
 public:
  explicit MessagePieces(std::unique_ptr<engine::ByteSource> bytes, const PieceLimits& most = {})
      : most_(most), stream_(std::move(bytes)) {}

  /// The next piece, in place of what was in it; false: there is none.
  bool take(MessagePiece& piece);

 private:
  PieceLimits most_;
  MessageStream stream_;
  std::uint32_t messages_ = 0;
  BatchCount batches_;
  bool ended_ = false;
};

/// The units of a piece.
class PieceUnits : public UnitSource {
 public:
  /// `piece` must live until its units are read.
  void begin(const MessagePiece& piece) {
    piece_ = &piece;
    next_ = 0;
  }

  bool next(Unit& unit) override;
  [[nodiscard]] bool has_unit() const override { return true; }
  void release(bool keep_last) override { (void)keep_last; }
  void restart() override { next_ = 0; }
  [[nodiscard]] const std::string& failure() const override { return piece_->failure; }
  [[nodiscard]] bool is_over() const override { return piece_->is_last; }
  [[nodiscard]] bool is_read() const { return next_ == piece_->units.size(); }

 private:
  const MessagePiece* piece_ = nullptr;
  std::size_t next_ = 0;
};

/// What a source of pieces has before the source itself.
struct PieceUnitsFirst {
  PieceUnits units;
};

/// Reads pieces of an input that are handed to it.
class Hl7PieceSource : private PieceUnitsFirst, public Hl7Source {
 public:
  Hl7PieceSource(std::string name, std::uint32_t file, const engine::ReadContext& context)
      : Hl7Source(std::move(name), file, units, context) {}

  /// The next piece; it must live until next() has said that there is no more of it.
  void begin(const MessagePiece& piece) {
    units.begin(piece);
    restart_behind(piece.messages, piece.batches);
  }
};

}  // namespace meniscus::adapters::hl7v2
