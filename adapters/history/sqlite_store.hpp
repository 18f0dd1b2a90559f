// The orders of earlier runs in one SQLite file: the store that needs no server.
//
//   auto store = SqliteStore::open("/var/lib/meniscus/history.db");
//
// Safe:     write-ahead log with full synchronisation: what commit() has returned for outlives a
//           loss of power.
// Alone:    the file is locked while it is open; a second program is refused, not left behind.
// Private:  it is made readable by its owner alone (0600).
// Versions: a file of an earlier version is brought up to this one when it is opened; one of a
//           later version is refused.
#pragma once

#include <memory>
#include <string>

#include "adapters/history/order_store.hpp"

namespace meniscus::adapters {

class SqliteStore final : public OrderStore {
 public:
  /// Opens or makes the file.
  static engine::Result<std::unique_ptr<SqliteStore>> open(const std::string& path);
  ~SqliteStore() override;

  [[nodiscard]] bool is_shared() const override { return false; }
  engine::Status begin(std::span<const std::string_view> patients) override;
  engine::Status commit() override;
  void roll_back() override;
  engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                      const UseMerge& use_merge) override;
  engine::Status each(std::string_view patient, const UseOrder& use) override;
  engine::Status each_merge(const UseMerge& use) override;
  engine::Result<std::int64_t> add(const StoredOrder& order) override;
  engine::Status merge(std::string_view former, std::string_view patient) override;
  engine::Status expect(std::span<const MessageId> /*messages*/, double /*oldest*/) override {
    return engine::Done{};  // it is asked where they are looked for
  }
  engine::Result<std::optional<KeptAnswer>> answer_to(std::string_view sender,
                                                      std::string_view control,
                                                      double oldest) override;
  engine::Status add_answer(const KeptAnswer& answer) override;
  engine::Status each_answered(const UseAnswered& use) override;
  engine::Status drop_answers(double oldest) override;
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> since() override;
  engine::Status set_since(std::int64_t day) override;
  engine::Result<std::uint64_t> prune(std::int64_t day) override;
  [[nodiscard]] engine::Result<StoreSize> size() override;

 private:
  struct Database;
  explicit SqliteStore(std::unique_ptr<Database> database);

  std::unique_ptr<Database> database_;
};

}  // namespace meniscus::adapters
