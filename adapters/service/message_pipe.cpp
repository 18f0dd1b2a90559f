// Contract: see message_pipe.hpp.
#include "adapters/service/message_pipe.hpp"

#include <algorithm>
#include <utility>

#include "adapters/hl7v2/frame_bytes.hpp"

namespace meniscus::adapters {

namespace {

constexpr std::size_t kMostBytes = std::size_t{1} << 20U;  // of a turn; one message may have more
constexpr unsigned kTurnsApart = 1000;                     // between two looks for old answers
constexpr std::string_view kEnd = "\x1C\r";

std::string_view without_line_ends(std::string_view text) {
  while (!text.empty() && (text.back() == '\r' || text.back() == '\n'))
    text.remove_suffix(1);
  return text;
}

/// Answers without their frames.  What they hold of a message has none of the bytes of a frame: it
/// came without one.
void append_bare(std::string_view answers, std::string& out) {
  while (!answers.empty()) {
    if (answers.front() == hl7v2::kFrameStart) answers.remove_prefix(1);
    const std::size_t end = std::min(answers.find(kEnd), answers.size());
    out.append(answers.substr(0, end));
    answers.remove_prefix(std::min(end + kEnd.size(), answers.size()));
  }
}

}  // namespace

engine::Status MessagePipe::run(std::unique_ptr<engine::ByteSource> bytes) {
  hl7v2::MessageStream stream(std::move(bytes));
  hl7v2::BatchCount count;
  engine::Status done = engine::Done{};
  for (bool more = true; done && more;) {
    more = gather(stream, count);
    if (taken_ > 0) done = answer();
  }
  const auto off = count.end();
  if (!stream.failure().empty()) {
    ends_.missing("the input ended early: " + stream.failure());
  } else if (done && off) {
    ends_.missing(off->reason);
  }
  if (done) drop_old_answers();
  return done;
}

/// What is there of the next messages, and at least one; false at the end of the input.
bool MessagePipe::gather(hl7v2::MessageStream& stream, hl7v2::BatchCount& count) {
  stream.release(false);
  taken_ = 0;
  bytes_ = 0;
  hl7v2::Unit unit;
  while (taken_ < kMost && bytes_ < kMostBytes && (taken_ == 0 || stream.has_unit())) {
    if (!stream.next(unit)) return false;
    const auto off = count.take(unit);
    if (off && off->lost) ends_.missing(off->reason);
    if (unit.kind == hl7v2::UnitKind::Message || unit.kind == hl7v2::UnitKind::Other) add(unit);
  }
  return true;
}

void MessagePipe::add(const hl7v2::Unit& unit) {
  if (taken_ == messages_.size()) messages_.emplace_back();
  Message& message = messages_[taken_++];
  bytes_ += unit.text.size();
  message.is_cut = unit.cut;
  message.frame.clear();
  // With the end of a frame in it, a frame around it would be two.
  message.was_bare = !unit.framed && unit.text.find(hl7v2::kFrameEnd) == std::string_view::npos;
  if (!unit.framed && !message.was_bare) {
    message.frame = unit.text;
    return;
  }
  message.frame += hl7v2::kFrameStart;
  if (unit.framed) {
    message.frame += unit.text;
  } else {
    message.frame.append(without_line_ends(unit.text)).append("\r");
  }
  if (!unit.cut) message.frame += hl7v2::kFrameEnd;
}

engine::Status MessagePipe::take_turn() {
  asked_.clear();
  for (std::size_t i = 0; i < taken_; ++i) {
    Message& message = messages_[i];
    const auto kind = message.is_cut ? mllp::FrameKind::Cut : mllp::FrameKind::Whole;
    message.answers.clear();
    asked_.push_back({{kind, message.frame}, &message.answers});
  }
  return answerer_.take_turn(asked_);
}

engine::Status MessagePipe::answer() {
  engine::Status done = take_turn();
  // A database that was started again since the last turn is there at the second try.
  if (!done) done = take_turn();
  const std::string trouble = answerer_.take_trouble();
  if (!trouble.empty()) ends_.trouble(trouble);
  if (!done) {
    return engine::Error{engine::Errc::Input,
                         done.error().message + "; these orders and all after them are not checked",
                         0, 0};
  }
  out_.clear();
  for (std::size_t i = 0; i < taken_; ++i) {
    const Message& message = messages_[i];
    message.was_bare ? append_bare(message.answers, out_)
                     : static_cast<void>(out_.append(message.answers));
  }
  if (!out_.empty() && !ends_.send(out_))
    return engine::Error{engine::Errc::Input, "the answers could not be written", 0, 0};
  if (++turns_ == kTurnsApart) drop_old_answers();
  return done;
}

void MessagePipe::drop_old_answers() {
  turns_ = 0;
  const engine::Status dropped = answerer_.drop_old_answers();
  if (!dropped) ends_.trouble(dropped.error().message);
}

}  // namespace meniscus::adapters
