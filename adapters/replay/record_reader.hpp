// The inputs of a replay, cut into pieces that several threads read at once.
//
//   RecordReader reader(reading);
//   while (auto piece = reader.take())                   // one thread at a time
//     use(reader.read(std::move(*piece), scratch));      // several threads
//
// Pieces:    of JSON with a record a line and of HL7 v2, about a million bytes that end between two
//            records; of every other input, some thousand records that take() has read already.
//            Where pieces end does not depend on the number of threads.
// Order:     pieces are numbered in the order of the inputs, and records in their pieces.
// Errors:    an input that cannot be opened is said in Batch::unopened, and the rest is read; one
//            that breaks off ends with an unreadable record that says why.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "adapters/input/open_orders.hpp"
#include "adapters/replay/record_image.hpp"
#include "engine/base/result.hpp"
#include "engine/order/feed.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters::replay {

/// The share of all patients that a run looks at: the `number`-th of `of`, from 1.
struct Shard {
  std::uint32_t number = 1;
  std::uint32_t of = 1;
  [[nodiscard]] bool holds(std::uint64_t owner) const;
};

struct Reading {
  std::vector<std::string> warm_up;  // read first, only remembered
  std::vector<std::string> inputs;
  Format format = Format::Auto;
  const engine::Feed* feed = nullptr;
  std::string profile;  // the feed's own text
  /// Whose words the records are read with: one program, or two that know different words.  Each
  /// record then has two images, one after the other.
  std::vector<const engine::Program*> words;
  std::size_t partitions = 1;
  Shard shard;
  std::size_t piece_bytes = std::size_t{1} << 20U;
};

/// The records of one piece.
struct Batch {
  std::uint64_t number = 0;
  std::vector<std::string> parts;  // images, by partition, in the order of the input
  std::uint64_t records = 0;       // those of other shards too
  double first = 0;                // the earliest time at which one was received; infinite: none
  std::vector<std::pair<engine::Word, engine::Word>> merges;  // former id, id from then on
  std::size_t bytes = 0;                                      // of the inputs, when uncompressed
  std::vector<std::string> unopened;                          // a sentence each
  std::string broken;  // what makes the whole run worthless; empty: nothing
};

class RecordReader {
 public:
  explicit RecordReader(Reading reading);
  ~RecordReader();
  RecordReader(const RecordReader&) = delete;
  RecordReader& operator=(const RecordReader&) = delete;

  struct Piece;
  struct PieceDeleter {
    void operator()(Piece* piece) const;
  };
  using PieceHandle = std::unique_ptr<Piece, PieceDeleter>;
  /// The next piece; null at the end.
  PieceHandle take();

  /// Memory of a thread that reads pieces.
  class Scratch;
  static std::shared_ptr<Scratch> make_scratch();
  [[nodiscard]] Batch read(PieceHandle piece, Scratch& scratch) const;

  /// From now on records of all shards are kept, because ids may turn out to be of one patient.
  void keep_all_shards() { all_shards_ = true; }

 private:
  class Inputs;
  void open_lines(Piece& piece, Scratch& scratch) const;
  void open_messages(const Piece& piece, Scratch& scratch) const;

  Reading reading_;
  bool all_shards_ = false;
  std::unique_ptr<Inputs> inputs_;
};

/// Where an owner's records go.
std::size_t partition_of(std::uint64_t owner, std::size_t partitions);

}  // namespace meniscus::adapters::replay
