// Contract: see line_check.hpp.
#include "adapters/cli/line_check.hpp"

#include <atomic>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>
#include <vector>

namespace meniscus::adapters {

namespace {

class Run {
 public:
  Run(JsonLines& lines, const LineCheck& check) : lines_(lines), check_(check) {}

  std::unique_ptr<engine::OrderSource> run() {
    std::vector<std::thread> others;
    for (unsigned i = 1; i < check_.threads; ++i)
      others.emplace_back([this] { work(); });
    work();
    for (std::thread& other : others)
      other.join();
    if (failure_ != nullptr) std::rethrow_exception(failure_);
    if (stopped_) return nullptr;
    const JsonPlace begins = left_begins_ ? *left_begins_ : lines_.place();
    return make_json_rest({check_.name, lines_.rest(std::move(left_)), check_.file}, check_.context,
                          begins);
  }

 private:
  /// What a thread works with.
  struct Desk {
    JsonLines::Piece piece;
    std::uint64_t turn = 0;
    std::unique_ptr<JsonPieceSource> source;
    std::optional<engine::Checker> checker;
    engine::OrderBlock block;
  };

  void work() {
    Desk desk;
    while (take(desk)) {
      const bool is_whole = guarded([&] { return read(desk); });
      await(desk.turn);
      settle(desk, is_whole);
      turn_.store(desk.turn + 1, std::memory_order_release);
      turn_.notify_all();
    }
  }

  bool take(Desk& desk) {
    const std::lock_guard lock(taking_);
    if (over_ || !guarded([&] { return lines_.take(desk.piece); })) return false;
    desk.turn = taken_++;
    return true;
  }

  /// False: the piece is not read as it would be with all that comes after it.
  bool read(Desk& desk) {
    if (desk.source == nullptr) {
      desk.source = make_json_pieces(check_.name, check_.file, check_.context);
      desk.checker.emplace(check_.make_checker(*desk.source));
    }
    desk.source->begin(desk.piece.bytes, desk.piece.begins);
    if (!desk.source->next(desk.block) || !desk.source->is_whole()) return false;
    desk.checker->begin(desk.block);
    return true;
  }

  void await(std::uint64_t turn) {
    for (std::uint64_t now = turn_.load(std::memory_order_acquire); now != turn;
         now = turn_.load(std::memory_order_acquire))
      turn_.wait(now, std::memory_order_acquire);
  }

  /// The desk's turn: nobody else is here.
  void settle(Desk& desk, bool is_whole) {
    if (stopped_ || failed_) return;
    if (over_ || !is_whole) {
      over_ = true;
      if (!left_begins_) left_begins_ = desk.piece.begins;
      left_ += desk.piece.bytes;
      return;
    }
    const bool goes_on =
        guarded([&] { return check_.finish(*desk.checker, desk.block, *desk.source); });
    if (goes_on) return;
    stopped_ = true;
    over_ = true;
  }

  /// False where `act` fails: a third party's, or memory has run out.
  template <class Act>
  bool guarded(Act act) {
    try {
      return act();
    } catch (...) {
      const std::lock_guard lock(failing_);
      if (failure_ == nullptr) failure_ = std::current_exception();
      failed_ = true;
      over_ = true;
      return false;
    }
  }

  JsonLines& lines_;
  const LineCheck& check_;
  std::mutex taking_;
  std::uint64_t taken_ = 0;
  std::atomic<std::uint64_t> turn_ = 0;
  std::atomic<bool> over_ = false;
  bool stopped_ = false;                  // with the turn
  std::optional<JsonPlace> left_begins_;  // likewise
  std::string left_;                      // likewise: taken and not judged
  std::mutex failing_;
  std::exception_ptr failure_;
  std::atomic<bool> failed_ = false;
};

}  // namespace

std::unique_ptr<engine::OrderSource> check_lines(JsonLines& lines, const LineCheck& check) {
  return Run(lines, check).run();
}

}  // namespace meniscus::adapters
