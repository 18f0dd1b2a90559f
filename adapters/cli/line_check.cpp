// Contract: see line_check.hpp.
#include "adapters/cli/line_check.hpp"

#include <condition_variable>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>
#include <vector>

namespace meniscus::adapters {

namespace {

/// A piece and what it is judged with; its thread's alone while it is read or settled.
struct Desk {
  enum class State : std::uint8_t { Free, InWork, Read };
  State state = State::Free;
  std::uint64_t turn = 0;  // of the piece, in the input
  bool is_whole = false;
  JsonLines::Piece piece;
  std::unique_ptr<JsonPieceSource> source;
  std::optional<engine::Checker> checker;
  engine::OrderBlock block;
};

class Run {
 public:
  Run(JsonLines& lines, const LineCheck& check)
      : lines_(lines), check_(check), desks_(check.threads + kMoreDesks) {}

  std::unique_ptr<engine::OrderSource> run() {
    std::vector<std::thread> others;
    for (unsigned i = 1; i < check_.threads; ++i)
      others.emplace_back([this] { work(false); });
    work(true);
    for (std::thread& other : others)
      other.join();
    if (failure_ != nullptr) std::rethrow_exception(failure_);
    if (stopped_) return nullptr;
    const JsonPlace begins = left_begins_ ? *left_begins_ : lines_.place();
    return make_json_rest({check_.name, lines_.rest(std::move(left_)), check_.file}, check_.context,
                          begins);
  }

 private:
  using Lock = std::unique_lock<std::mutex>;
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
    const bool taken = guarded([&] { return lines_.take(desk.piece); });
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
      desk.source = make_json_pieces(check_.name, check_.file, check_.context);
      desk.checker.emplace(check_.make_checker(*desk.source));
    }
    desk.source->begin(desk.piece.bytes, desk.piece.begins);
    if (!desk.source->next(desk.block) || !desk.source->is_whole()) return false;
    desk.checker->begin(desk.block);
    return true;
  }

  void settle(Desk& desk, Lock& lock) {
    settling_ = true;
    if (left_begins_ || !desk.is_whole) {
      over_ = true;
      if (!left_begins_) left_begins_ = desk.piece.begins;
      left_ += desk.piece.bytes;
    } else {
      lock.unlock();
      const bool goes_on =
          guarded([&] { return check_.finish(*desk.checker, desk.block, *desk.source); });
      lock.lock();
      stopped_ = !goes_on;
    }
    settling_ = false;
    desk.state = Desk::State::Free;
    ++turn_;
    changed_.notify_all();
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

  JsonLines& lines_;  // of the thread that takes
  const LineCheck& check_;
  std::vector<Desk> desks_;

  std::mutex mutex_;  // of all below, and of the desks' states
  std::condition_variable changed_;
  std::uint64_t taken_ = 0;
  std::uint64_t turn_ = 0;  // of the piece that is settled next
  bool taking_ = false;
  bool settling_ = false;
  bool over_ = false;     // no more pieces are taken
  bool stopped_ = false;  // `finish` has ended it
  std::optional<JsonPlace> left_begins_;
  std::string left_;  // taken and not judged
  std::exception_ptr failure_;
};

}  // namespace

std::unique_ptr<engine::OrderSource> check_lines(JsonLines& lines, const LineCheck& check) {
  return Run(lines, check).run();
}

}  // namespace meniscus::adapters
