// A store whose n-th call fails, as a full disk or a lost database makes it.
#pragma once

#include <memory>
#include <utility>

#include "adapters/history/order_store.hpp"

namespace meniscus::testing {

class FailingStore final : public adapters::OrderStore {
 public:
  /// The call that fails counts from 1, 0: none; `lasting`: all after it fail too, until heal().
  FailingStore(std::unique_ptr<adapters::OrderStore> store, int fails_at, bool lasting)
      : store_(std::move(store)), left_(fails_at), lasting_(lasting) {}

  [[nodiscard]] bool is_shared() const override { return store_->is_shared(); }
  engine::Status begin(std::span<const std::string_view> patients) override {
    return fails() ? trouble() : store_->begin(patients);
  }
  engine::Status commit() override {
    if (!fails()) return store_->commit();
    store_->roll_back();
    return trouble();
  }
  void roll_back() override { store_->roll_back(); }
  engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                      const UseMerge& use_merge) override {
    return fails() ? trouble() : store_->read(wanted, use, use_merge);
  }
  engine::Status each(std::string_view patient, const UseOrder& use) override {
    return store_->each(patient, use);
  }
  engine::Status each_merge(const UseMerge& use) override {
    return fails() ? trouble() : store_->each_merge(use);
  }
  engine::Result<std::int64_t> add(const adapters::StoredOrder& order) override {
    if (fails()) return trouble().error();
    return store_->add(order);
  }
  engine::Status merge(std::string_view former, std::string_view patient) override {
    return fails() ? trouble() : store_->merge(former, patient);
  }
  engine::Status expect(std::span<const MessageId> messages, double oldest) override {
    return fails() ? trouble() : store_->expect(messages, oldest);
  }
  engine::Result<std::optional<adapters::KeptAnswer>> answer_to(std::string_view sender,
                                                                std::string_view control,
                                                                double oldest) override {
    if (fails()) return trouble().error();
    return store_->answer_to(sender, control, oldest);
  }
  engine::Status add_answer(const adapters::KeptAnswer& answer) override {
    return fails() ? trouble() : store_->add_answer(answer);
  }
  engine::Status drop_answers(double oldest) override {
    return fails() ? trouble() : store_->drop_answers(oldest);
  }
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> since() override {
    if (fails()) return trouble().error();
    return store_->since();
  }
  engine::Status set_since(std::int64_t day) override {
    return fails() ? trouble() : store_->set_since(day);
  }
  engine::Result<std::uint64_t> prune(std::int64_t day) override { return store_->prune(day); }
  [[nodiscard]] engine::Result<adapters::StoreSize> size() override { return store_->size(); }

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

  std::unique_ptr<adapters::OrderStore> store_;
  int left_;  // 0: none fails
  bool lasting_;
  bool has_failed_ = false;
};

}  // namespace meniscus::testing
