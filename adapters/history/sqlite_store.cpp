// Contract: see sqlite_store.hpp.
#include "adapters/history/sqlite_store.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cerrno>
#include <utility>

namespace meniscus::adapters {

namespace {

constexpr int kApplication = 0x4D4E4353;  // "MNCS": says whose file this is
constexpr int kVersion = 1;

constexpr const char* kSettings =
    "PRAGMA locking_mode = EXCLUSIVE;"
    "PRAGMA journal_mode = WAL;"
    "PRAGMA synchronous = FULL;";

constexpr const char* kTables =
    "BEGIN IMMEDIATE;"
    "CREATE TABLE orders("
    "  receipt INTEGER PRIMARY KEY,"  // counts up as orders come in
    "  patient TEXT NOT NULL,"
    "  number TEXT NOT NULL,"  // of the order
    "  day INTEGER NOT NULL,"  // judged as of, days since 1970-01-01
    "  text TEXT NOT NULL"     // one line of JSON
    ") STRICT;"
    "CREATE INDEX orders_of_a_patient ON orders(patient, number, receipt);"
    "PRAGMA application_id = 1296974675;"
    "PRAGMA user_version = 1;"
    "COMMIT;";
static_assert(kApplication == 1296974675 && kVersion == 1);

constexpr const char* kLast =
    "SELECT text FROM orders WHERE patient = ?1 AND number = ?2 ORDER BY receipt DESC LIMIT 1";
constexpr const char* kAdd =
    "INSERT INTO orders(patient, number, day, text) VALUES (?1, ?2, ?3, ?4)";
constexpr const char* kAll = "SELECT text FROM orders ORDER BY receipt";
constexpr const char* kSince = "SELECT day FROM orders ORDER BY receipt LIMIT 1";
constexpr const char* kSize = "SELECT count(*) FROM orders";

struct Finalize {
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Statement = std::unique_ptr<sqlite3_stmt, Finalize>;

std::string_view text_at(sqlite3_stmt* statement, int column) {
  const unsigned char* const text = sqlite3_column_text(statement, column);
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement, column));
  return {reinterpret_cast<const char*>(text), size};  // NOLINT(*-reinterpret-cast): SQLite's bytes
}

void bind(sqlite3_stmt* statement, int at, std::string_view text) {
  // Static: every statement is stepped and reset before the text goes.
  const char* const data = text.data() == nullptr ? "" : text.data();  // null would be no text
  sqlite3_bind_text(statement, at, data, static_cast<int>(text.size()), SQLITE_STATIC);
}

/// Makes the file where there is none, for its owner alone.  One that is there is not opened here:
/// closing it would take away the locks that another store of this process has on it (POSIX).
bool make_private(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, S_IRUSR | S_IWUSR);
  if (file >= 0) return ::close(file) == 0;
  return errno == EEXIST && ::access(path.c_str(), R_OK | W_OK) == 0;
}

}  // namespace

struct SqliteStore::Database {
  explicit Database(std::string name) : path(std::move(name)) {}
  ~Database() {
    last.reset();
    insert.reset();
    sqlite3_close_v2(handle);
  }
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  [[nodiscard]] engine::Error error(std::string_view what) const {
    std::string message = path + ": ";
    message.append(what).append(": ").append(sqlite3_errmsg(handle));
    return {engine::Errc::Input, std::move(message)};
  }
  [[nodiscard]] engine::Status run(const char* sql, std::string_view what) const {
    if (sqlite3_exec(handle, sql, nullptr, nullptr, nullptr) != SQLITE_OK) return error(what);
    return engine::Done{};
  }
  [[nodiscard]] Statement prepare(const char* sql) const {
    sqlite3_stmt* statement = nullptr;
    sqlite3_prepare_v2(handle, sql, -1, &statement, nullptr);
    return Statement(statement);
  }
  /// The one number that `sql` asks for; none where it gives no row.
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> number(const char* sql) const {
    const Statement statement = prepare(sql);
    const int step = statement == nullptr ? SQLITE_ERROR : sqlite3_step(statement.get());
    if (step == SQLITE_ROW)
      return std::optional<std::int64_t>(sqlite3_column_int64(statement.get(), 0));
    if (step != SQLITE_DONE) return error("cannot be read");
    return std::optional<std::int64_t>();
  }

  std::string path;
  sqlite3* handle = nullptr;
  Statement last;
  Statement insert;
  bool in_transaction = false;
};

SqliteStore::SqliteStore(std::unique_ptr<Database> database) : database_(std::move(database)) {}
SqliteStore::~SqliteStore() = default;

engine::Result<std::unique_ptr<SqliteStore>> SqliteStore::open(const std::string& path) {
  auto database = std::make_unique<Database>(path);
  if (!make_private(path))
    return engine::Error{engine::Errc::Input, path + ": cannot be opened or made for writing"};
  Database& db = *database;
  if (sqlite3_open_v2(path.c_str(), &db.handle, SQLITE_OPEN_READWRITE, nullptr) != SQLITE_OK)
    return db.error("cannot be opened");
  if (const engine::Status set = db.run(kSettings, "cannot be used"); !set) return set.error();
  const auto application = db.number("PRAGMA application_id");
  const auto version = db.number("PRAGMA user_version");
  const auto tables = db.number("SELECT count(*) FROM sqlite_schema");
  for (const auto* answer : {&application, &version, &tables})
    if (!*answer) return answer->error();
  if (**tables == 0) {
    if (const engine::Status made = db.run(kTables, "cannot be made"); !made) return made.error();
  } else if (**application != kApplication || **version != kVersion) {
    return engine::Error{engine::Errc::Input,
                         path + ": is a database, but no history of this version of meniscus"};
  }
  db.last = db.prepare(kLast);
  db.insert = db.prepare(kAdd);
  if (db.last == nullptr || db.insert == nullptr) return db.error("cannot be used");
  return std::unique_ptr<SqliteStore>(new SqliteStore(std::move(database)));
}

engine::Status SqliteStore::each(const std::function<void(std::string_view text)>& use) {
  const Statement all = database_->prepare(kAll);
  if (all == nullptr) return database_->error("cannot be read");
  int step = sqlite3_step(all.get());
  for (; step == SQLITE_ROW; step = sqlite3_step(all.get()))
    use(text_at(all.get(), 0));
  if (step != SQLITE_DONE) return database_->error("cannot be read");
  return engine::Done{};
}

engine::Result<bool> SqliteStore::add(const StoredOrder& order) {
  Database& db = *database_;
  if (!db.in_transaction) {
    const engine::Status begun = db.run("BEGIN IMMEDIATE", "cannot be written");
    if (!begun) return begun.error();
    db.in_transaction = true;
  }
  sqlite3_stmt* const last = db.last.get();
  bind(last, 1, order.patient);
  bind(last, 2, order.number);
  const bool again = sqlite3_step(last) == SQLITE_ROW && text_at(last, 0) == order.text;
  sqlite3_reset(last);
  if (again) return false;
  sqlite3_stmt* const insert = db.insert.get();
  bind(insert, 1, order.patient);
  bind(insert, 2, order.number);
  sqlite3_bind_int64(insert, 3, order.day);
  bind(insert, 4, order.text);
  const bool done = sqlite3_step(insert) == SQLITE_DONE;
  sqlite3_reset(insert);
  if (!done) return db.error("cannot be written");
  return true;
}

engine::Status SqliteStore::commit() {
  if (!database_->in_transaction) return engine::Done{};
  database_->in_transaction = false;
  engine::Status done = database_->run("COMMIT", "cannot be written");
  if (!done) roll_back();
  return done;
}

void SqliteStore::roll_back() {
  database_->in_transaction = false;
  sqlite3_exec(database_->handle, "ROLLBACK", nullptr, nullptr, nullptr);
}

engine::Result<std::optional<std::int64_t>> SqliteStore::since() {
  return database_->number(kSince);
}

engine::Result<std::uint64_t> SqliteStore::size() {
  const auto count = database_->number(kSize);
  if (!count) return count.error();
  return static_cast<std::uint64_t>(count->value_or(0));
}

}  // namespace meniscus::adapters
