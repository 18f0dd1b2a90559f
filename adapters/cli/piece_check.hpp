// Judges an input that is cut into pieces on several threads, with what one thread would say, in
// the order of the input.
//
// Pieces: JSON with a record a line, and HL7 v2.
// How:    each thread takes a piece, reads it, and asks the rules that need no history
//         (Checker::begin), while others do the same with theirs.  History, verdicts and what is
//         written about them (`finish`) are done by one thread at a time, piece by piece; mostly by
//         the same, so that history stays in its core's memory.
// Left:   of JSON, what cannot be cut into pieces, from the first such piece on: the caller goes on
//         from there with one thread.
// Memory: a block, a reader and a checker for each piece in work: two more than threads.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "adapters/hl7v2/message_pieces.hpp"
#include "adapters/input/json_lines.hpp"
#include "engine/eval/checker.hpp"
#include "engine/order/order_block.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

struct PieceCheck {
  std::string name;  // of the input
  std::uint32_t file = 0;
  engine::ReadContext context;
  unsigned threads = 2;
  std::function<engine::Checker(const engine::OrderSource&)> make_checker;
  /// Of a block that was begun, in the order of the input and never twice at once.  False: no more
  /// is to be judged.
  std::function<bool(engine::Checker&, engine::OrderBlock&, const engine::OrderSource&)> finish;
};

/// Judges as much of `lines` as can be cut into pieces.  Gives back the source of what is left;
/// null where `finish` has ended it.
std::unique_ptr<engine::OrderSource> check_pieces(JsonLines& lines, const PieceCheck& check);
/// Judges all of `messages`.
void check_pieces(hl7v2::MessagePieces& messages, const PieceCheck& check);

}  // namespace meniscus::adapters
