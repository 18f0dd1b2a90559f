// Contract: see record_reader.hpp.
#include "adapters/replay/record_reader.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string_view>

#include "adapters/hl7v2/message_pieces.hpp"
#include "adapters/input/byte_sources.hpp"
#include "adapters/input/compressed_bytes.hpp"
#include "adapters/input/json_lines.hpp"
#include "adapters/input/utf16_bytes.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/replay/mixed.hpp"

namespace meniscus::adapters::replay {

namespace {
using engine::OrderBlock;
using engine::OrderSource;
using engine::ReadContext;
using engine::Result;

constexpr std::size_t kBlocksPerPiece = 32;
constexpr std::size_t kUnitsPerPiece = 8192;
constexpr unsigned kTurnBits = 24;  // for the records of one piece

/// Where `text` can be cut: behind the last line that ends between two records.  0: nowhere.
std::size_t last_cut(std::string_view text) {
  for (std::size_t at = text.rfind('\n'); at != std::string_view::npos && at > 0;
       at = text.rfind('\n', at - 1)) {
    if (is_between_records(text, at)) return at + 1;
  }
  return 0;
}
}  // namespace

std::size_t partition_of(std::uint64_t owner, std::size_t partitions) {
  return (mixed(owner) & 0xFFFFFFFFU) % partitions;
}

bool Shard::holds(std::uint64_t owner) const {
  return of == 1 || (mixed(owner) >> 32U) % of == number - 1;
}

struct RecordReader::Piece {
  std::uint64_t number = 0;
  std::string name;  // of the input
  std::uint32_t file = 0;
  bool warm_up = false;
  std::string lines;  // of JSON
  std::uint64_t lines_before = 0;
  std::optional<engine::Error> error;           // after `lines`
  std::optional<hl7v2::MessagePiece> messages;  // of HL7 v2
  std::optional<Batch> batch;                   // of every other input: it is read already
};

void RecordReader::PieceDeleter::operator()(Piece* piece) const {
  std::default_delete<Piece>{}(piece);
}

class RecordReader::Scratch {
 public:
  std::array<OrderBlock, 2> blocks;
  /// Of the piece that is read, one for each of the words; those of HL7 v2 are kept for the input's
  /// next piece, because they learn what comes again.
  std::vector<std::unique_ptr<OrderSource>> sources;
  std::vector<hl7v2::Hl7PieceSource*> messages;  // the same, where they are of HL7 v2
  std::uint32_t file = 0;                        // of these
};

std::shared_ptr<RecordReader::Scratch> RecordReader::make_scratch() {
  return std::make_shared<Scratch>();
}

namespace {
/// From the lanes of blocks to the images of a batch.
class Imager {
 public:
  Imager(const Reading& reading, bool all_shards, Batch& batch)
      : reading_(reading), all_shards_(all_shards), batch_(batch) {
    batch.parts.resize(reading.partitions);
    batch.first = std::numeric_limits<double>::infinity();
  }

  /// `head` has the file, never_carries and warm_up.
  void add(std::span<const OrderBlock* const> blocks, unsigned lane, ImageHead head,
           std::uint64_t lines_before) {
    head.turn = batch_.number << kTurnBits | batch_.records++;
    head.line = blocks.front()->record(lane).line + lines_before;
    image_.clear();
    for (const OrderBlock* block : blocks)
      append_image(*block, lane, head, image_);
    const ImageHead done = head_of(image_);
    if (!std::isnan(done.received)) batch_.first = std::min(batch_.first, done.received);
    if (done.kind == engine::RecordKind::Merge)
      batch_.merges.emplace_back(done.former, done.patient);
    if (all_shards_ || reading_.shard.holds(done.owner()))
      batch_.parts[partition_of(done.owner(), reading_.partitions)] += image_;
  }

 private:
  const Reading& reading_;
  bool all_shards_;
  Batch& batch_;
  std::string image_;
};

/// Reads the same blocks from one or two sources in step.  False at the end, or when they differ.
bool next_blocks(std::span<const std::unique_ptr<OrderSource>> sources,
                 std::span<OrderBlock> blocks, Batch& batch) {
  const bool more = sources[0]->next(blocks[0]);
  for (std::size_t i = 1; i < sources.size(); ++i) {
    if (sources[i]->next(blocks[i]) == more && (!more || blocks[i].size() == blocks[0].size()))
      continue;
    batch.broken = "an input gives other records with the words of the other rules";
    return false;
  }
  return more;
}

/// Reads up to `most` blocks into the batch; false: the sources are at their end.
bool fill(std::span<const std::unique_ptr<OrderSource>> sources, std::span<OrderBlock> blocks,
          const ImageHead& head, std::uint64_t lines_before, std::size_t most, Imager& imager,
          Batch& batch) {
  std::array<const OrderBlock*, 2> read{blocks.data(), blocks.data() + 1};
  for (std::size_t i = 0; i < most; ++i) {
    if (!next_blocks(sources, blocks, batch)) return false;
    for (unsigned lane = 0; lane < blocks[0].size(); ++lane)
      imager.add(std::span(read).first(sources.size()), lane, head, lines_before);
  }
  return true;
}
}  // namespace

/// The inputs one after the other, and what is open of the one at hand.
class RecordReader::Inputs {
 public:
  explicit Inputs(const Reading& reading) : reading_(reading) {}

  PieceHandle take(bool all_shards) {
    for (;;) {
      if (!open_ && !open_next()) return nullptr;
      PieceHandle piece = messages_           ? take_messages()
                          : lines_ != nullptr ? take_lines()
                                              : take_records(all_shards);
      if (piece != nullptr) return piece;
      open_ = false;
    }
  }

 private:
  [[nodiscard]] std::size_t count() const {
    return reading_.warm_up.size() + reading_.inputs.size();
  }
  [[nodiscard]] bool is_warm_up() const { return file_ - 1 < reading_.warm_up.size(); }

  PieceHandle new_piece() {
    PieceHandle piece(std::make_unique<Piece>().release());
    piece->number = number_++;
    piece->name = name_;
    piece->file = file_ - 1;
    piece->warm_up = is_warm_up();
    return piece;
  }

  /// Opens the next input; what cannot be opened is a piece that says so.
  bool open_next() {
    if (file_ == count()) return false;
    const std::size_t at = file_++;
    const std::size_t warm = reading_.warm_up.size();
    name_ = at < warm ? reading_.warm_up[at] : reading_.inputs[at - warm];
    lines_ = nullptr;
    messages_.reset();
    sources_.clear();
    said_.clear();
    line_ = 0;
    open_ = true;
    const engine::Status opened = open_input();
    if (!opened) said_ = opened.error().message;
    return true;
  }

  engine::Status open_input() {
    Result<std::unique_ptr<engine::ByteSource>> bytes = open_unpacked();
    if (!bytes) return bytes.error();
    rest_.clear();
    error_.reset();
    ended_ = false;
    lines_ = std::move(*bytes);
    Format format = reading_.format;
    if (format == Format::Auto || format == Format::Json) {
      read_on(reading_.piece_bytes);
      if (is_json_lines()) return engine::Done{};
      if (format == Format::Auto && detect_format(rest_) == Format::Hl7) format = Format::Hl7;
    }
    *bytes = with_bytes_before(std::move(rest_), std::move(lines_));
    if (format != Format::Hl7) return open_sources(std::move(*bytes));
    messages_.emplace(std::move(*bytes), hl7v2::PieceLimits{kUnitsPerPiece, reading_.piece_bytes});
    return engine::Done{};
  }

  [[nodiscard]] Result<std::unique_ptr<engine::ByteSource>> open_unpacked() const {
    Result<std::unique_ptr<engine::ByteSource>> bytes = open_bytes(name_);
    if (!bytes) return bytes;
    return utf8_bytes(unpacked_bytes(std::move(*bytes), name_), name_);
  }

  [[nodiscard]] bool is_json_lines() const {
    return begins_with_json_line(rest_) &&
           (reading_.format == Format::Json || detect_format(rest_) == Format::Json);
  }

  engine::Status open_sources(std::unique_ptr<engine::ByteSource> bytes) {
    for (std::size_t i = 0; i < reading_.words.size(); ++i) {
      if (i > 0) {
        if (name_ == "-")
          return engine::Error{engine::Errc::Usage,
                               "standard input can be read once only, and the two sets of rules "
                               "know different words: name a file",
                               0, 0};
        auto again = open_unpacked();
        if (!again) return again.error();
        bytes = std::move(*again);
      }
      const ReadContext context{reading_.words[i], reading_.feed};
      auto opened =
          open_orders(engine::Input{name_, std::move(bytes), file_ - 1}, reading_.format, context);
      if (!opened) return opened.error();
      sources_.push_back(std::move(opened->source));
    }
    return engine::Done{};
  }

  /// Reads until `rest_` has that many bytes, or the end.
  void read_on(std::size_t wanted) {
    constexpr std::size_t kStep = std::size_t{256} << 10U;
    while (!ended_ && rest_.size() < wanted) {
      const std::size_t had = rest_.size();
      rest_.resize(had + kStep);
      const Result<std::size_t> got = lines_->read(rest_.data() + had, kStep);
      rest_.resize(had + (got ? *got : 0));
      ended_ = !got || *got == 0;
      if (!got) error_ = got.error();
    }
  }

  PieceHandle take_lines() {
    read_on(reading_.piece_bytes);
    std::size_t cut = ended_ ? rest_.size() : last_cut(rest_);
    while (cut == 0 && !ended_) {
      read_on(rest_.size() * 2);
      cut = ended_ ? rest_.size() : last_cut(rest_);
    }
    if (cut == 0 && !error_) return nullptr;
    PieceHandle piece = new_piece();
    piece->lines_before = line_;
    line_ += static_cast<std::uint64_t>(
        std::count(rest_.begin(), rest_.begin() + static_cast<std::ptrdiff_t>(cut), '\n'));
    if (ended_) {
      piece->error = std::exchange(error_, std::nullopt);
      piece->lines = std::exchange(rest_, {});
    } else {
      std::string after = rest_.substr(cut);
      after.reserve(reading_.piece_bytes * 2);
      rest_.resize(cut);
      piece->lines = std::exchange(rest_, std::move(after));
    }
    return piece;
  }

  PieceHandle take_messages() {
    hl7v2::MessagePiece messages;
    if (!messages_->take(messages)) return nullptr;
    PieceHandle piece = new_piece();
    piece->messages = std::move(messages);
    return piece;
  }

  PieceHandle take_records(bool all_shards) {
    if (sources_.empty() && said_.empty()) return nullptr;
    PieceHandle piece = new_piece();
    Batch& batch = piece->batch.emplace();
    batch.number = piece->number;
    Imager imager(reading_, all_shards, batch);
    if (!said_.empty()) {
      batch.unopened.push_back(std::exchange(said_, {}));
      sources_.clear();
      return piece;
    }
    ImageHead head;
    head.file = piece->file;
    head.warm_up = piece->warm_up;
    head.never_carries = reading_.feed->never_carries | sources_[0]->never_carries();
    if (!fill(sources_, blocks_, head, 0, kBlocksPerPiece, imager, batch)) sources_.clear();
    return piece;
  }

  const Reading& reading_;
  std::uint32_t file_ = 0;  // the input at hand, from 1
  std::uint64_t number_ = 0;
  std::string name_;
  bool open_ = false;
  std::string said_;  // why it cannot be opened
  std::unique_ptr<engine::ByteSource> lines_;
  std::string rest_;
  std::optional<engine::Error> error_;
  bool ended_ = false;
  std::uint64_t line_ = 0;  // line ends before `rest_`
  std::optional<hl7v2::MessagePieces> messages_;
  std::vector<std::unique_ptr<OrderSource>> sources_;
  std::array<OrderBlock, 2> blocks_;
};

RecordReader::RecordReader(Reading reading)
    : reading_(std::move(reading)), inputs_(std::make_unique<Inputs>(reading_)) {}
RecordReader::~RecordReader() = default;

RecordReader::PieceHandle RecordReader::take() { return inputs_->take(all_shards_); }

void RecordReader::open_lines(Piece& piece, Scratch& scratch) const {
  scratch.sources.clear();
  scratch.messages.clear();
  const JsonLimits limits{JsonLimits{}.record_bytes, piece.lines.size() + 1};
  for (std::size_t i = 0; i < reading_.words.size(); ++i) {
    std::string text = i + 1 < reading_.words.size() ? piece.lines : std::move(piece.lines);
    auto bytes = piece.error ? with_bytes_before(std::move(text), broken_off(*piece.error))
                             : memory_bytes(std::move(text));
    scratch.sources.push_back(
        make_json_source(engine::Input{piece.name, std::move(bytes), piece.file},
                         {reading_.words[i], reading_.feed}, limits));
  }
}

void RecordReader::open_messages(const Piece& piece, Scratch& scratch) const {
  if (scratch.messages.empty() || scratch.file != piece.file) {
    scratch.sources.clear();
    scratch.messages.clear();
    scratch.file = piece.file;
    for (const engine::Program* const words : reading_.words) {
      auto source = std::make_unique<hl7v2::Hl7PieceSource>(
          piece.name, piece.file, engine::ReadContext{words, reading_.feed});
      scratch.messages.push_back(source.get());
      scratch.sources.push_back(std::move(source));
    }
  }
  for (hl7v2::Hl7PieceSource* const source : scratch.messages)
    source->begin(*piece.messages);
}

Batch RecordReader::read(PieceHandle piece, Scratch& scratch) const {
  if (piece->batch) return std::move(*piece->batch);
  Batch batch;
  batch.number = piece->number;
  batch.bytes = piece->messages ? piece->messages->bytes.size() : piece->lines.size();
  Imager imager(reading_, all_shards_, batch);
  if (piece->messages)
    open_messages(*piece, scratch);
  else
    open_lines(*piece, scratch);
  ImageHead head;
  head.file = piece->file;
  head.warm_up = piece->warm_up;
  head.never_carries = reading_.feed->never_carries | scratch.sources[0]->never_carries();
  fill(scratch.sources, scratch.blocks, head, piece->lines_before,
       std::numeric_limits<std::size_t>::max(), imager, batch);
  return batch;
}

}  // namespace meniscus::adapters::replay
