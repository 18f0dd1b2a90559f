// HL7 v2 messages from a stream of bytes, each answered in the framing that it came in: what the
// service does for its connections, over a pipe or a file.
//
//   MessagePipe pipe(answerer, {send, trouble, missing});
//   if (!pipe.run(std::move(bytes))) ...      // nothing more may be judged
//
// Framing:  the answerer knows frames alone.  A message without one is given one, and its answers
//           are taken out of theirs, so an answer is kept in one form and said again in any.
// Turns:    what is in memory is judged together, at most kMost messages, and answered in one
//           piece when what the answers depend on is on the disk; a message alone waits for no
//           other.
// Batches:  headers and trailers are not answered; missing() hears of a trailer that counts more
//           than came, or that did not come.
// Never:    answers what could not be kept: where the second try fails too, the run is over.  No
//           text that it gives holds a byte of a message, but for what send() gets.
// Threads:  one at a time.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/hl7v2/batch_count.hpp"
#include "adapters/hl7v2/message_stream.hpp"
#include "adapters/service/answerer.hpp"
#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

struct PipeEnds {
  /// Takes the answers of a turn; false when they could not be handed out.
  std::function<bool(std::string_view answers)> send;
  /// Something beside the answers failed: the quarantine, or forgetting old answers.
  std::function<void(std::string_view what)> trouble;
  /// The input does not hold all that it should.
  std::function<void(std::string_view what)> missing;
};

class MessagePipe {
 public:
  static constexpr std::size_t kMost = 64;

  /// `answerer` outlives this.
  MessagePipe(Answerer& answerer, PipeEnds ends) : answerer_(answerer), ends_(std::move(ends)) {}

  /// Answers an input to its end.  Errors: Input; a turn could not be kept, or its answers not
  /// handed out, and what follows was not read.
  engine::Status run(std::unique_ptr<engine::ByteSource> bytes);

 private:
  struct Message {
    std::string frame;
    bool is_cut = false;
    bool was_bare = false;  // the frame is ours
    std::string answers;
  };

  bool gather(hl7v2::MessageStream& stream, hl7v2::BatchCount& count);
  void add(const hl7v2::Unit& unit);
  engine::Status take_turn();
  engine::Status answer();
  void drop_old_answers();

  Answerer& answerer_;
  PipeEnds ends_;
  std::vector<Message> messages_;  // of the turn: the first taken_; the others keep their memory
  std::size_t taken_ = 0;
  std::size_t bytes_ = 0;  // of the turn
  std::vector<Asked> asked_;
  std::string out_;
  unsigned turns_ = 0;  // since old answers were dropped
};

}  // namespace meniscus::adapters
