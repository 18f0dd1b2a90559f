// Contract: see message_pieces.hpp.
#include "adapters/hl7v2/message_pieces.hpp"

#include <string_view>

namespace meniscus::adapters::hl7v2 {

bool MessagePieces::take(MessagePiece& piece) {
  piece.bytes.clear();
  piece.units.clear();
  piece.failure.clear();
  piece.is_last = false;
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
  piece.is_last = ended_;
  std::string_view rest = piece.bytes;
  for (Unit& each : piece.units) {
    each.text = rest.substr(0, each.text.size());
    rest.remove_prefix(each.text.size());
  }
  // With nothing else in it a last piece still has to be read where a trailer is missing.
  const bool is_said = !piece.failure.empty() || (ended_ && batches_.end());
  return !piece.units.empty() || is_said;
}

bool PieceUnits::next(Unit& unit) {
  if (is_read()) return false;
  unit = piece_->units[next_++];
  return true;
}

}  // namespace meniscus::adapters::hl7v2
