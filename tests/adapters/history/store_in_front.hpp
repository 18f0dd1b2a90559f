// A store that hands every call on to another one, for tests to step in between.
#pragma once

#include <memory>
#include <utility>

#include "adapters/history/order_store.hpp"

namespace meniscus::testing {

class StoreInFront : public adapters::OrderStore {
 public:
  explicit StoreInFront(std::unique_ptr<adapters::OrderStore> store) : store_(std::move(store)) {}

  [[nodiscard]] bool is_shared() const override { return store_->is_shared(); }
  engine::Status begin(std::span<const std::string_view> patients) override {
    return store_->begin(patients);
  }
  engine::Status commit() override { return store_->commit(); }
  void roll_back() override { store_->roll_back(); }
  engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                      const UseMerge& use_merge) override {
    return store_->read(wanted, use, use_merge);
  }
  engine::Status each(std::string_view patient, const UseOrder& use) override {
    return store_->each(patient, use);
  }
  engine::Status each_merge(const UseMerge& use) override { return store_->each_merge(use); }
  engine::Result<std::int64_t> add(const adapters::StoredOrder& order) override {
    return store_->add(order);
  }
  engine::Status merge(std::string_view former, std::string_view patient) override {
    return store_->merge(former, patient);
  }
  engine::Status expect(std::span<const MessageId> messages, double oldest) override {
    return store_->expect(messages, oldest);
  }
  engine::Result<std::optional<adapters::KeptAnswer>> answer_to(std::string_view sender,
                                                                std::string_view control,
                                                                double oldest) override {
    return store_->answer_to(sender, control, oldest);
  }
  engine::Status add_answer(const adapters::KeptAnswer& answer) override {
    return store_->add_answer(answer);
  }
  engine::Status each_answered(const UseAnswered& use) override {
    return store_->each_answered(use);
  }
  engine::Status drop_answers(double oldest) override { return store_->drop_answers(oldest); }
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> since() override {
    return store_->since();
  }
  engine::Status set_since(std::int64_t day) override { return store_->set_since(day); }
  engine::Result<std::uint64_t> prune(std::int64_t day) override { return store_->prune(day); }
  [[nodiscard]] engine::Result<adapters::StoreSize> size() override { return store_->size(); }

 private:
  std::unique_ptr<adapters::OrderStore> store_;
};

}  // namespace meniscus::testing
