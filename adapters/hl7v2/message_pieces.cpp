// Contract: see message_pieces.hpp.
#include "adapters/hl7v2/message_pieces.hpp"

#include <string_view>

namespace meniscus::adapters::hl7v2 {

bool MessagePieces::take(MessagePiece& piece) {
  piece.bytes.clear();
  piece.units.clear();
  piece.failure.clear();
  piece.messages = messages_;
  piece.batches = batches_;
  if (ended_) return false;
  stream_.release(false);
  Unit unit;
  while (piece.units.size() < most_.units && piece.bytes.size() < most_.bytes) {
    ended_ = !stream_.next(unit);
    if (ended_) break;
    piece.bytes.append(unit.text);
    piece.units.push_back(unit);
    (void)batches_.take(unit);  // said by the piece's own source
    messages_ += unit.kind == UnitKind::Message ? 1U : 0U;
  }
  if (ended_) piece.failure = stream_.failure();
  std::string_view rest = piece.bytes;
  for (Unit& each : piece.units) {
    each.text = rest.substr(0, each.text.size());
    rest.remove_prefix(each.text.size());
  }
  return !piece.units.empty() || !piece.failure.empty();
}

bool PieceUnits::next(Unit& unit) {
  if (is_read()) return false;
  unit = piece_->units[next_++];
  return true;
}

}  // namespace meniscus::adapters::hl7v2
