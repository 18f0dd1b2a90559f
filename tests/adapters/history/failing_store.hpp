// A store whose n-th call fails, as a full disk or a lost database makes it.
#pragma once

#include <memory>
#include <utility>

#include "tests/adapters/history/store_in_front.hpp"

namespace meniscus::testing {

class FailingStore final : public StoreInFront {
 public:
  /// The call that fails counts from 1, 0: none; `lasting`: all after it fail too, until heal().
  FailingStore(std::unique_ptr<adapters::OrderStore> store, int fails_at, bool lasting)
      : StoreInFront(std::move(store)), left_(fails_at), lasting_(lasting) {}

  engine::Status begin(std::span<const std::string_view> patients) override {
    return fails() ? trouble() : StoreInFront::begin(patients);
  }
  engine::Status commit() override {
    if (!fails()) return StoreInFront::commit();
    StoreInFront::roll_back();
    return trouble();
  }
  engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                      const UseMerge& use_merge) override {
    return fails() ? trouble() : StoreInFront::read(wanted, use, use_merge);
  }
  engine::Status each_merge(const UseMerge& use) override {
    return fails() ? trouble() : StoreInFront::each_merge(use);
  }
  engine::Result<std::int64_t> add(const adapters::StoredOrder& order) override {
    if (fails()) return trouble().error();
    return StoreInFront::add(order);
  }
  engine::Status merge(std::string_view former, std::string_view patient) override {
    return fails() ? trouble() : StoreInFront::merge(former, patient);
  }
  engine::Status expect(std::span<const MessageId> messages, double oldest) override {
    return fails() ? trouble() : StoreInFront::expect(messages, oldest);
  }
  engine::Result<std::optional<adapters::KeptAnswer>> answer_to(std::string_view sender,
                                                                std::string_view control,
                                                                double oldest) override {
    if (fails()) return trouble().error();
    return StoreInFront::answer_to(sender, control, oldest);
  }
  engine::Status add_answer(const adapters::KeptAnswer& answer) override {
    return fails() ? trouble() : StoreInFront::add_answer(answer);
  }
  engine::Status each_answered(const UseAnswered& use) override {
    return fails() ? trouble() : StoreInFront::each_answered(use);
  }
  engine::Status drop_answers(double oldest) override {
    return fails() ? trouble() : StoreInFront::drop_answers(oldest);
  }
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> since() override {
    if (fails()) return trouble().error();
    return StoreInFront::since();
  }
  engine::Status set_since(std::int64_t day) override {
    return fails() ? trouble() : StoreInFront::set_since(day);
  }

  void heal() { left_ = 0; }
  void fail_from_now_on() {
    left_ = 1;
    lasting_ = true;
  }
  /// Whether a call has failed.
  [[nodiscard]] bool has_failed() const { return has_failed_; }

 private:
  bool fails() {
    if (left_ == 0) return false;
    if (left_ > 1) {
      --left_;
      return false;
    }
    has_failed_ = true;
    if (!lasting_) left_ = 0;
    return true;
  }
  static engine::Status trouble() { return engine::Error{engine::Errc::Input, "the disk is full"}; }

  int left_;  // 0: none fails
  bool lasting_;
  bool has_failed_ = false;
};

}  // namespace meniscus::testing
