// Contract: see piece_check.hpp.
#include "adapters/cli/piece_check.hpp"

#include <condition_variable>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>
#include <vector>

namespace meniscus::adapters {

namespace {

/// JSON with a record a line, as Run wants it.
class LinePieces {
 public:
  using Piece = JsonLines::Piece;
  using Source = JsonPieceSource;

  LinePieces(JsonLines& lines, const PieceCheck& check) : lines_(lines), check_(check) {}

  [[nodiscard]] std::unique_ptr<Source> make_source() const {
    return make_json_pieces(check_.name, check_.file, check_.context);
  }
  bool take(Piece& piece) { return lines_.take(piece); }
  static bool begin(Source& source, const Piece& piece, engine::OrderBlock& block) {
    source.begin(piece.bytes, piece.begins);
    return source.next(block) && source.is_whole();
  }
  /// A piece is one block.
  static bool next(Source& source, engine::OrderBlock& block) {
    (void)source, (void)block;
    return false;
  }
  /// The piece and all after it are judged by nobody here.
  void leave(const Piece& piece) {
    if (!left_begins_) left_begins_ = piece.begins;
    left_ += piece.bytes;
  }
  std::unique_ptr<engine::OrderSource> rest() {
    const JsonPlace begins = left_begins_ ? *left_begins_ : lines_.place();
    return make_json_rest({check_.name, lines_.rest(std::move(left_)), check_.file}, check_.context,
                          begins);
  }

 private:
  JsonLines& lines_;
  const PieceCheck& check_;
  std::optional<JsonPlace> left_begins_;
  std::string left_;  // taken and not judged
};

/// HL7 v2, as Run wants it.
class UnitPieces {
 public:
  using Piece = hl7v2::MessagePiece;
  using Source = hl7v2::Hl7PieceSource;

  UnitPieces(hl7v2::MessagePieces& messages, const PieceCheck& check)
      : messages_(messages), check_(check) {}

  [[nodiscard]] std::unique_ptr<Source> make_source() const {
    return std::make_unique<Source>(check_.name, check_.file, check_.context);
  }
  bool take(Piece& piece) { return messages_.take(piece); }
  /// A piece without an order, of headers alone, is an empty block.
  static bool begin(Source& source, const Piece& piece, engine::OrderBlock& block) {
    source.begin(piece);
    (void)source.next(block);
    return true;
  }
  /// Messages of several orders fill more than a block.
  static bool next(Source& source, engine::OrderBlock& block) { return source.next(block); }
  static void leave(const Piece& piece) { (void)piece; }  // begin() refuses none
  static std::unique_ptr<engine::OrderSource> rest() { return nullptr; }

 private:
  hl7v2::MessagePieces& messages_;
  const PieceCheck& check_;
};

/// A piece and what it is judged with; its thread's alone while it is read or settled.
template <class Pieces>
struct PieceDesk {
  enum class State : std::uint8_t { Free, InWork, Read };
  State state = State::Free;
  std::uint64_t turn = 0;  // of the piece, in the input
  bool is_whole = false;
  typename Pieces::Piece piece;
  std::unique_ptr<typename Pieces::Source> source;
  std::optional<engine::Checker> checker;
  engine::OrderBlock block;
};

template <class Pieces>
class Run {
 public:
  Run(Pieces pieces, const PieceCheck& check)
      : pieces_(std::move(pieces)), check_(check), desks_(check.threads + kMoreDesks) {}

  std::unique_ptr<engine::OrderSource> run() {
    std::vector<std::thread> others;
    for (unsigned i = 1; i < check_.threads; ++i)
      others.emplace_back([this] { work(false); });
    work(true);
    for (std::thread& other : others)
      other.join();
    if (failure_ != nullptr) std::rethrow_exception(failure_);
    return stopped_ ? nullptr : pieces_.rest();
  }

 private:
  using Lock = std::unique_lock<std::mutex>;
  using Desk = PieceDesk<Pieces>;
  /// Pieces that are read and wait for those before them, so that nobody waits for a slow one.
  static constexpr unsigned kMoreDesks = 2;

  /// One thread settles what it can before it reads, so that history stays near it; the others read
  /// before they settle.
  void work(bool settles_first) {
    Lock lock(mutex_);
    while (!is_done()) {
      const bool done = settles_first ? settle_next(lock) || read_next(lock)
                                      : read_next(lock) || settle_next(lock);
      if (!done) changed_.wait(lock);
    }
    changed_.notify_all();
  }

  bool settle_next(Lock& lock) {
    Desk* const next = next_to_settle();
    if (next != nullptr) settle(*next, lock);
    return next != nullptr;
  }

  bool read_next(Lock& lock) {
    Desk* const free = over_ || taking_ ? nullptr : free_desk();
    if (free != nullptr) read(*free, lock);
    return free != nullptr;
  }

  [[nodiscard]] bool is_done() const {
    return failure_ != nullptr || stopped_ || (over_ && !taking_ && turn_ == taken_);
  }

  [[nodiscard]] Desk* next_to_settle() {
    if (settling_) return nullptr;
    for (Desk& desk : desks_)
      if (desk.state == Desk::State::Read && desk.turn == turn_) return &desk;
    return nullptr;
  }

  [[nodiscard]] Desk* free_desk() {
    for (Desk& desk : desks_)
      if (desk.state == Desk::State::Free) return &desk;
    return nullptr;
  }

  void read(Desk& desk, Lock& lock) {
    taking_ = true;
    desk.state = Desk::State::InWork;
    lock.unlock();
    const bool taken = guarded([&] { return pieces_.take(desk.piece); });
    lock.lock();
    taking_ = false;
    changed_.notify_all();
    if (!taken) {
      over_ = true;
      desk.state = Desk::State::Free;
      return;
    }
    desk.turn = taken_++;
    lock.unlock();
    desk.is_whole = guarded([&] { return read_piece(desk); });
    lock.lock();
    desk.state = Desk::State::Read;
    if (desk.turn == turn_) changed_.notify_all();
  }

  /// False: the piece is not read as it would be with all that comes after it.
  bool read_piece(Desk& desk) const {
    if (desk.source == nullptr) {
      desk.source = pieces_.make_source();
      desk.checker.emplace(check_.make_checker(*desk.source));
    }
    if (!Pieces::begin(*desk.source, desk.piece, desk.block)) return false;
    if (desk.block.size() > 0) desk.checker->begin(desk.block);
    return true;
  }

  void settle(Desk& desk, Lock& lock) {
    settling_ = true;
    has_left_ = has_left_ || !desk.is_whole;
    if (has_left_) {
      over_ = true;
      pieces_.leave(desk.piece);
    } else {
      lock.unlock();
      const bool goes_on = guarded([&] { return finish(desk); });
      lock.lock();
      stopped_ = !goes_on;
    }
    settling_ = false;
    desk.state = Desk::State::Free;
    ++turn_;
    changed_.notify_all();
  }

  bool finish(Desk& desk) const {
    if (desk.block.size() == 0) return true;
    if (!check_.finish(*desk.checker, desk.block, *desk.source)) return false;
    while (Pieces::next(*desk.source, desk.block)) {
      desk.checker->begin(desk.block);
      if (!check_.finish(*desk.checker, desk.block, *desk.source)) return false;
    }
    return true;
  }

  /// False where `act` fails: a third party's, or memory has run out.
  template <class Act>
  bool guarded(Act act) {
    try {
      return act();
    } catch (...) {
      const Lock lock(mutex_);
      if (failure_ == nullptr) failure_ = std::current_exception();
      return false;
    }
  }

  Pieces pieces_;  // taken from by one thread at a time, left to by the one that settles
  const PieceCheck& check_;
  std::vector<Desk> desks_;

  std::mutex mutex_;  // of all below, and of the desks' states
  std::condition_variable changed_;
  std::uint64_t taken_ = 0;
  std::uint64_t turn_ = 0;  // of the piece that is settled next
  bool taking_ = false;
  bool settling_ = false;
  bool over_ = false;      // no more pieces are taken
  bool stopped_ = false;   // `finish` has ended it
  bool has_left_ = false;  // a piece, and so all after it, is left
  std::exception_ptr failure_;
};

}  // namespace

std::unique_ptr<engine::OrderSource> check_pieces(JsonLines& lines, const PieceCheck& check) {
  return Run(LinePieces(lines, check), check).run();
}

void check_pieces(hl7v2::MessagePieces& messages, const PieceCheck& check) {
  (void)Run(UnitPieces(messages, check), check).run();
}

}  // namespace meniscus::adapters
