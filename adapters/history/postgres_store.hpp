// The orders of earlier runs in a PostgreSQL database, which several programs share.
//
//   auto store = PostgresStore::open("host=/run/postgresql dbname=meniscus schema=clinic");
//
// Address:  as libpq takes it, `keyword=value` pairs or a URL; in pairs, `schema` names the schema
//           that the tables stand in (meniscus).  A password belongs into PGPASSFILE, not here.
// Made:     schema and tables are made where there are none, by one program at a time, and brought
//           up to date by later versions; a schema of a later version is refused.
// Sequence: a turn holds a lock of the database on each of its patients until it ends, taken in one
//           order by all programs; receipts are drawn after it.  So a patient's orders are judged
//           one after the other, whichever program they come to.
// Cost:     two round trips a turn: one that locks and reads, one that writes and commits.
// Lost:     each call fails until the database can be reached again, which is tried at most once a
//           second; a database that does not answer is given up after some seconds.
// Safe:     commits wait for the disk; a database that is set not to (fsync = off) is refused.
// Source:   PostgreSQL 15: 13.3.5 (advisory locks), 34.5 (pipeline mode), 20.5 (fsync).
#pragma once

#include <memory>
#include <string>

#include "adapters/history/order_store.hpp"

namespace meniscus::adapters {

class PostgresStore final : public OrderStore {
 public:
  static engine::Result<std::unique_ptr<PostgresStore>> open(const std::string& address);
  ~PostgresStore() override;

  [[nodiscard]] bool is_shared() const override { return true; }
  engine::Status begin(std::span<const std::string_view> patients) override;
  engine::Status commit() override;
  void roll_back() override;
  engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                      const UseMerge& use_merge) override;
  engine::Status each(std::string_view patient, const UseOrder& use) override;
  engine::Status each_merge(const UseMerge& use) override;
  engine::Result<std::int64_t> add(const StoredOrder& order) override;
  engine::Status merge(std::string_view former, std::string_view patient) override;
  engine::Status expect(std::span<const MessageId> messages, double oldest) override;
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
  struct State;
  explicit PostgresStore(std::unique_ptr<State> state);

  std::unique_ptr<State> state_;
};

}  // namespace meniscus::adapters
