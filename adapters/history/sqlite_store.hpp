// The orders of earlier runs in one SQLite file, so that history outlives the program.
//
//   auto store = SqliteStore::open("/var/lib/meniscus/history.db");
//   (*store)->each([&](std::string_view order) { ... });    // in order of receipt
//   (*store)->add({patient, number, day, text});            // in a transaction
//   (*store)->commit();                                     // on the disk when it returns
//
// Safe:     write-ahead log with full synchronisation: what commit() has returned for outlives a
// loss
//           of power; what was not committed leaves no trace.
// Again:    an order that is the same as the last one of its number is not kept a second time, so
//           that a message sent again changes nothing.
// Alone:    the file is locked while it is open; a second program is refused, not left behind.
// Private:  it holds patients' orders.  It is made readable by its owner alone (0600); errors name
// the
//           file and never what is in it.
// Errors:   Input, with the file and what SQLite says.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

struct StoredOrder {
  std::string_view patient;
  std::string_view number;  // of the order; empty when it has none
  std::int64_t day = 0;     // that it was judged as of, days since 1970-01-01
  std::string_view text;    // stored_order.hpp
};

class SqliteStore {
 public:
  /// Opens or makes the file.
  static engine::Result<std::unique_ptr<SqliteStore>> open(const std::string& path);
  ~SqliteStore();
  SqliteStore(const SqliteStore&) = delete;
  SqliteStore& operator=(const SqliteStore&) = delete;

  /// Everything that was kept, oldest receipt first.
  engine::Status each(const std::function<void(std::string_view text)>& use);

  /// Keeps an order; begins a transaction where none is open.  False: it is there already.
  engine::Result<bool> add(const StoredOrder& order);
  engine::Status commit();
  /// What was added since the last commit() is not kept.
  void roll_back();

  /// The day from which on it has every order: that of the first one.  None in an empty store.
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> since();

  [[nodiscard]] engine::Result<std::uint64_t> size();

 private:
  struct Database;
  explicit SqliteStore(std::unique_ptr<Database> database);

  std::unique_ptr<Database> database_;
};

}  // namespace meniscus::adapters
