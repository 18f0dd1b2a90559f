// A store whose commits wait until the test lets them through, or makes them fail.
#pragma once

#include <condition_variable>
#include <memory>
#include <mutex>
#include <utility>

#include "tests/adapters/history/store_in_front.hpp"

namespace meniscus::testing {

class GateStore final : public StoreInFront {
 public:
  using StoreInFront::StoreInFront;

  engine::Status commit() override {
    std::unique_lock lock(lock_);
    ++waiting_;
    changed_.notify_all();
    changed_.wait(lock, [this] { return open_; });
    --waiting_;
    if (!fails_) return StoreInFront::commit();
    StoreInFront::roll_back();
    return engine::Error{engine::Errc::Input, "the disk is full"};
  }
  void shut() { set(false, false); }
  void open() { set(true, false); }
  void open_and_fail() { set(true, true); }
  /// Until a commit stands at the gate.
  void wait_for_commit() {
    std::unique_lock lock(lock_);
    changed_.wait(lock, [this] { return waiting_ > 0; });
  }

 private:
  void set(bool open, bool fails) {
    const std::lock_guard lock(lock_);
    open_ = open;
    fails_ = fails;
    changed_.notify_all();
  }

  std::mutex lock_;
  std::condition_variable changed_;
  bool open_ = true;
  bool fails_ = false;
  int waiting_ = 0;
};

}  // namespace meniscus::testing
