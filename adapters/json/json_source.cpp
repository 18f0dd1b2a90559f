// Cutting an input into JSON records (contract: json_source.hpp).
//
// Fast road: a record that ends with its line, as nearly all do, is found by its newline and read
//            in one go.  Whatever that refuses goes the slow road: brackets are counted to find
//            where the record ends, and a scanner says what is wrong with it and where.
#include "adapters/json/json_source.hpp"

#include <algorithm>
#include <cstring>

#include "adapters/json/json_keys.hpp"
#include "adapters/json/json_merge.hpp"
#include "adapters/json/order_json.hpp"
#include "adapters/support/chunk_buffer.hpp"
#include "adapters/support/json_scan.hpp"
#include "adapters/support/text_place.hpp"

namespace meniscus::adapters {
namespace {

using engine::FieldId;
using engine::OrderBlock;
using engine::Origin;
using engine::Place;
using engine::RecordInfo;
using engine::RecordKind;

class JsonSource : public engine::OrderSource {
 public:
  JsonSource(engine::Input input, const engine::ReadContext& context, const JsonLimits& limits,
             const JsonPlace& begins)
      : name_(std::move(input.name)),
        file_(input.file),
        context_(context),
        limits_(limits),
        buffer_(std::move(input.bytes), limits.chunk_bytes),
        reader_(context),
        anything_(begins.offset > 0) {
    stand_at(begins);
  }

  /// What is read next stands there.
  void stand_at(const JsonPlace& place) {
    line_ = place.line;
    before_ = place.offset - buffer_.offset();
  }

  /// Nothing is left of what has been read, and no list or record is open.
  [[nodiscard]] bool is_between() {
    if (in_list_ || too_long_) return false;
    skip_between();
    return buffer_.bytes().empty();
  }

  bool next(OrderBlock& block) override {
    block.clear();
    while (!block.full()) {
      const Step step = record(block);
      if (step == Step::Taken) continue;
      if (step == Step::End) break;
      // Memory moves when more is read, and the block's texts point into it.
      if (block.size() > 0) return true;
      if (!buffer_.more() && buffer_.error() && !error_said_) say_error(block);
    }
    return block.size() > 0;
  }

  [[nodiscard]] Place place(const OrderBlock& block, unsigned lane, FieldId field,
                            Origin origin) const override {
    const RecordInfo& record = block.record(lane);
    std::string at;
    const Origin shown = pointer(block, lane, field, origin, at);
    return finish(record, shown, std::move(at));
  }

  void position(const OrderBlock& block, unsigned lane, FieldId field, Origin origin,
                Place& into) const override {
    const RecordInfo& record = block.record(lane);
    const Origin shown = pointer(block, lane, field, origin, into.at);
    if (record.text.data() == nullptr)
      into = finish(record, shown, {});
    else
      set_text_position(record, window(), shown, into);
  }

  [[nodiscard]] Place record_place(const OrderBlock& block, unsigned lane) const override {
    const RecordInfo& record = block.record(lane);
    if (record.kind == RecordKind::Order) return finish(record, {0, 1}, {});
    return finish(record, record.reason_origin,
                  json_pointer_at(record.text, record.reason_origin.offset));
  }

 private:
  enum class Step : std::uint8_t { Taken, NeedsMore, End };

  [[nodiscard]] TextWindow window() const {
    return {buffer_.window(), buffer_.characters_before()};
  }

  /// Writes the pointer to a field's value, or to the object that lacks it; gives back where that
  /// stands in the record.
  Origin pointer(const OrderBlock& block, unsigned lane, FieldId field, Origin origin,
                 std::string& at) const {
    const RecordInfo& record = block.record(lane);
    at.clear();
    if (origin.length == 0 && record.kind != RecordKind::Unreadable) {
      const JsonKeys& keys = JsonKeys::instance();
      const std::uint8_t group = keys.group_of(field);
      if (group == kRootGroup) return {0, 1};
      const std::optional<std::uint32_t> object = reader_.object_at(lane, group);
      if (!object) return {0, 1};
      at.append("/").append(keys.group_name(group));
      return {*object, 1};
    }
    if (!append_own_pointer(record.text, field, origin, at))
      at = json_pointer_at(record.text, origin.offset);
    return origin;
  }

  [[nodiscard]] Place finish(const RecordInfo& record, Origin origin, std::string at) const {
    if (record.text.data() == nullptr) {
      Place place;
      place.file = name_;
      place.line = record.line;
      place.column = 1;
      return place;
    }
    Place place = text_place(record, window(), origin);
    place.file = name_;
    place.at = std::move(at);
    return place;
  }

  /// Takes one record, or blank space, off the input.
  Step record(OrderBlock& block) {
    if (too_long_) return skip_line();
    skip_between();
    const std::string_view bytes = buffer_.bytes();
    if (bytes.empty()) return buffer_.ended() ? end(block) : Step::NeedsMore;
    switch (bytes.front()) {
      case '{':
        return object(block, bytes);
      case '[':
        if (in_list_) return stray(block, bytes);
        in_list_ = true;
        list_line_ = line_;
        advance(1);
        return Step::Taken;
      case ']':
        if (!in_list_) return stray(block, bytes);
        in_list_ = false;
        anything_ = true;
        advance(1);
        return Step::Taken;
      default:
        return stray(block, bytes);
    }
  }

  void advance(std::size_t count) {
    const char* from = buffer_.bytes().data();
    line_ += static_cast<std::uint64_t>(std::count(from, from + count, '\n'));
    buffer_.consume(count);
  }

  /// In the whole input, of the next byte.
  [[nodiscard]] std::uint64_t offset() const { return before_ + buffer_.offset(); }

  void skip_between() {
    const std::string_view bytes = buffer_.bytes();
    std::size_t at = 0;
    if (offset() == 0 && bytes.substr(0, 3) == "\xEF\xBB\xBF") at = 3;
    while (at < bytes.size() && (is_json_space(bytes[at]) || (in_list_ && bytes[at] == ',')))
      line_ += bytes[at++] == '\n' ? 1 : 0;
    buffer_.consume(at);
  }

  unsigned open(OrderBlock& block, std::string_view text) {
    anything_ = true;
    const unsigned lane = block.add_lane();
    RecordInfo& info = block.record(lane);
    info.file = file_;
    info.message = messages_++;
    info.offset = offset();
    info.line = line_;
    info.text = text;
    return lane;
  }

  void unreadable(OrderBlock& block, unsigned lane, std::string reason, Origin origin) {
    RecordInfo& info = block.record(lane);
    info.kind = RecordKind::Unreadable;
    info.reason = std::move(reason);
    info.reason_origin = origin;
  }

  // ---- the fast road

  Step object(OrderBlock& block, std::string_view bytes) {
    if (in_list_ || begins_merge(bytes)) return slow(block, bytes);
    const void* newline = std::memchr(bytes.data(), '\n', bytes.size());
    if (newline == nullptr && !buffer_.ended()) return wait(block, bytes);
    const std::size_t line =
        newline == nullptr
            ? bytes.size()
            : static_cast<std::size_t>(static_cast<const char*>(newline) - bytes.data());
    std::size_t size = line;
    while (is_json_space(bytes[size - 1]))
      --size;
    if (bytes[size - 1] != '}' || size > limits_.record_bytes) return slow(block, bytes);
    const std::string_view text = bytes.substr(0, size);
    const unsigned lane = open(block, text);
    const OrderJson::Outcome outcome = reader_.read(text, block, lane);
    if (!outcome.read) {
      block.reopen_last_lane();
      return slow_again(block, lane, bytes);
    }
    close(block, lane, outcome, text);
    if (outcome.size < size) {
      buffer_.consume(outcome.size);  // another record on the same line
    } else {
      buffer_.consume(newline == nullptr ? line : line + 1);
      line_ += newline == nullptr ? 0 : 1;
    }
    return Step::Taken;
  }

  void close(OrderBlock& block, unsigned lane, const OrderJson::Outcome& outcome,
             std::string_view text) {
    RecordInfo& info = block.record(lane);
    std::size_t size = outcome.size;
    while (size > 0 && is_json_space(text[size - 1]))
      --size;
    info.text = text.substr(0, size);
    if (!outcome.any_field) {
      unreadable(block, lane, "the object has no field of an order", {0, 1});
      return;
    }
    engine::complete(context_, block, lane);
  }

  // ---- the slow road

  Step slow(OrderBlock& block, std::string_view bytes) {
    const ObjectEnd end = object_end(bytes);
    if (end.kind == ObjectEnd::Kind::More && !buffer_.ended()) return wait(block, bytes);
    return slow_lane(block, open(block, bytes.substr(0, end.size)), bytes, end);
  }

  /// The lane was opened on the fast road.
  Step slow_again(OrderBlock& block, unsigned lane, std::string_view bytes) {
    const ObjectEnd end = object_end(bytes);
    if (end.kind == ObjectEnd::Kind::More && !buffer_.ended()) {
      block.drop_last_lane();
      --messages_;
      return wait(block, bytes);
    }
    return slow_lane(block, lane, bytes, end);
  }

  Step slow_lane(OrderBlock& block, unsigned lane, std::string_view bytes, const ObjectEnd& end) {
    std::size_t size = end.size;
    while (size > 1 && is_json_space(bytes[size - 1]))
      --size;
    const std::string_view text = bytes.substr(0, size);
    block.record(lane).text = text;
    const bool fits = size <= limits_.record_bytes;
    if (fits && begins_merge(text)) {
      read_merge(context_, block, lane, text);
      advance(end.size);
      return Step::Taken;
    }
    const OrderJson::Outcome outcome =
        fits ? reader_.read(text, block, lane) : OrderJson::Outcome{};
    if (!fits) {
      unreadable(block, lane, too_long(), {0, 1});
    } else if (outcome.read && outcome.size == size) {
      close(block, lane, outcome, text);
    } else {
      const auto problem = json_problem(text);
      unreadable(block, lane,
                 "the record is no JSON: " + (problem ? problem->message : "it cannot be read"),
                 {static_cast<std::uint32_t>(problem ? problem->offset : 0), 1});
    }
    advance(end.size);
    return Step::Taken;
  }

  /// Waits for the rest of a record, unless there is already more of it than is allowed.
  Step wait(OrderBlock& block, std::string_view bytes) {
    if (bytes.size() <= limits_.record_bytes) return Step::NeedsMore;
    constexpr std::size_t kKept = 256;  // enough to show
    const unsigned lane = open(block, bytes.substr(0, kKept));
    unreadable(block, lane, too_long(), {0, 1});
    too_long_ = true;
    return Step::Taken;
  }

  [[nodiscard]] std::string too_long() const {
    return "the record is longer than " + std::to_string(limits_.record_bytes >> 20U) + " MiB";
  }

  /// The rest of a record that is too long: up to the next line.
  Step skip_line() {
    const std::string_view bytes = buffer_.bytes();
    const std::size_t newline = bytes.find('\n');
    if (newline == std::string_view::npos) {
      advance(bytes.size());
      too_long_ = !buffer_.ended();
      return buffer_.ended() ? Step::Taken : Step::NeedsMore;
    }
    advance(newline + 1);
    too_long_ = false;
    return Step::Taken;
  }

  /// What is no object where one is needed: the rest of its line.
  Step stray(OrderBlock& block, std::string_view bytes) {
    std::size_t newline = bytes.find('\n');
    if (newline == std::string_view::npos) {
      if (!buffer_.ended()) return wait(block, bytes);
      newline = bytes.size();
    }
    const unsigned lane = open(block, bytes.substr(0, newline));
    unreadable(block, lane, "no order: a JSON object is needed here", {0, 1});
    if (bytes.front() == ']' || bytes.front() == '[') in_list_ = false;
    advance(newline);
    return Step::Taken;
  }

  Step end(OrderBlock& block) {
    if (ended_) return Step::End;
    ended_ = true;
    if (in_list_) {
      const unsigned lane = open(block, {});
      unreadable(block, lane,
                 "the list that starts on line " + std::to_string(list_line_) + " is not closed",
                 {});
    } else if (!anything_ && !error_said_) {
      const unsigned lane = open(block, {});
      unreadable(block, lane, "the input is empty", {});
    }
    return Step::End;
  }

  void say_error(OrderBlock& block) {
    error_said_ = true;
    const unsigned lane = open(block, {});
    unreadable(block, lane, buffer_.error()->message, {});
  }

  std::string name_;
  std::uint32_t file_;
  engine::ReadContext context_;
  JsonLimits limits_;
  ChunkBuffer buffer_;
  OrderJson reader_;
  std::uint64_t line_ = 1;
  std::uint64_t before_ = 0;  // bytes of the whole input before those of the buffer
  std::uint64_t list_line_ = 0;
  std::uint32_t messages_ = 0;
  bool in_list_ = false;
  bool too_long_ = false;
  bool anything_;
  bool error_said_ = false;
  bool ended_ = false;
};

/// The piece at hand.
class PieceBytes : public engine::ByteSource {
 public:
  void give(std::string_view piece) { piece_ = piece; }
  /// A record went on behind the end of its piece.
  [[nodiscard]] bool asked_for_more() const { return asked_for_more_; }
  [[nodiscard]] bool is_read() const { return piece_.empty(); }

  engine::Result<std::size_t> read(char* into, std::size_t size) override {
    asked_for_more_ = asked_for_more_ || piece_.empty();
    const std::size_t count = std::min(size, piece_.size());
    std::copy_n(piece_.data(), count, into);
    piece_.remove_prefix(count);
    return count;
  }

 private:
  std::string_view piece_;
  bool asked_for_more_ = false;
};

class JsonPieces : public JsonPieceSource {
 public:
  JsonPieces(std::unique_ptr<PieceBytes> bytes, std::string name, std::uint32_t file,
             const engine::ReadContext& context)
      : bytes_(*bytes), source_({std::move(name), std::move(bytes), file}, context, {}, {}) {}

  void begin(std::string_view piece, const JsonPlace& begins) override {
    bytes_.give(piece);
    source_.stand_at(begins);
  }
  bool is_whole() override {
    return bytes_.is_read() && !bytes_.asked_for_more() && source_.is_between();
  }

  bool next(OrderBlock& block) override { return source_.next(block); }
  [[nodiscard]] Place place(const OrderBlock& block, unsigned lane, FieldId field,
                            Origin origin) const override {
    return source_.place(block, lane, field, origin);
  }
  void position(const OrderBlock& block, unsigned lane, FieldId field, Origin origin,
                Place& into) const override {
    source_.position(block, lane, field, origin, into);
  }
  [[nodiscard]] Place record_place(const OrderBlock& block, unsigned lane) const override {
    return source_.record_place(block, lane);
  }

 private:
  PieceBytes& bytes_;  // the source's
  JsonSource source_;
};

}  // namespace

std::unique_ptr<JsonPieceSource> make_json_pieces(std::string name, std::uint32_t file,
                                                  const engine::ReadContext& context) {
  return std::make_unique<JsonPieces>(std::make_unique<PieceBytes>(), std::move(name), file,
                                      context);
}

std::unique_ptr<engine::OrderSource> make_json_source(engine::Input input,
                                                      const engine::ReadContext& context,
                                                      const JsonLimits& limits) {
  return std::make_unique<JsonSource>(std::move(input), context, limits, JsonPlace{});
}

std::unique_ptr<engine::OrderSource> make_json_rest(engine::Input input,
                                                    const engine::ReadContext& context,
                                                    const JsonPlace& begins) {
  return std::make_unique<JsonSource>(std::move(input), context, JsonLimits{}, begins);
}

}  // namespace meniscus::adapters
