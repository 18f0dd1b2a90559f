// Contract: see sqlite_store.hpp.
#include "adapters/history/sqlite_store.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <type_traits>
#include <utility>

#include "adapters/history/sqlite_statements.hpp"

namespace meniscus::adapters {

namespace {

struct Finalize {
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Statement = std::unique_ptr<sqlite3_stmt, Finalize>;

std::string_view bytes_at(sqlite3_stmt* statement, int column) {
  const void* const bytes = sqlite3_column_blob(statement, column);
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement, column));
  return {static_cast<const char*>(bytes), size};
}

// Static: every statement is stepped and reset before what is bound goes.
void bind(sqlite3_stmt* statement, int at, std::string_view text) {
  const char* const data = text.data() == nullptr ? "" : text.data();  // null would be no text
  sqlite3_bind_text(statement, at, data, static_cast<int>(text.size()), SQLITE_STATIC);
}
void bind_bytes(sqlite3_stmt* statement, int at, std::string_view bytes) {
  const char* const data = bytes.data() == nullptr ? "" : bytes.data();
  sqlite3_bind_blob(statement, at, data, static_cast<int>(bytes.size()), SQLITE_STATIC);
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
    for (Statement* const one : all())
      one->reset();
    sqlite3_close_v2(handle);
  }
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  [[nodiscard]] engine::Error error(std::string_view what) const {
    std::string message = path + ": ";
    message.append(what).append(": ").append(sqlite3_errmsg(handle));
    return {engine::Errc::Input, std::move(message)};
  }
  [[nodiscard]] engine::Error unreadable() const { return error("cannot be read"); }
  [[nodiscard]] engine::Error unwritable() const { return error("cannot be written"); }

  [[nodiscard]] engine::Status run(const char* sql, std::string_view what) const {
    return ended(sqlite3_exec(handle, sql, nullptr, nullptr, nullptr) == SQLITE_OK, what);
  }
  /// What has begun or ended a turn; where that failed, none is open.
  [[nodiscard]] engine::Status ended(bool well, std::string_view what) const {
    if (well) return engine::Done{};
    const engine::Error problem = error(what);
    if (sqlite3_get_autocommit(handle) == 0)
      sqlite3_exec(handle, "ROLLBACK", nullptr, nullptr, nullptr);
    return problem;
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
    if (step != SQLITE_DONE) return unreadable();
    return std::optional<std::int64_t>();
  }
  [[nodiscard]] engine::Result<std::uint64_t> count(const char* sql) const {
    const auto found = number(sql);
    if (!found) return found.error();
    return static_cast<std::uint64_t>(found->value_or(0));
  }
  /// Steps to the end: true when it got there.  The statement is ready for the next time.
  static bool finish(sqlite3_stmt* statement) {
    const bool done = sqlite3_step(statement) == SQLITE_DONE;
    sqlite3_reset(statement);
    return done;
  }
  /// Gives the rows of receipt, number, day, text (and patient, where none is said) to `use`.
  [[nodiscard]] engine::Status rows(sqlite3_stmt* statement, std::string_view patient,
                                    const UseOrder& use) const {
    int step = sqlite3_step(statement);
    for (; step == SQLITE_ROW; step = sqlite3_step(statement)) {
      const std::string_view whose = patient.empty() ? bytes_at(statement, 4) : patient;
      use({sqlite3_column_int64(statement, 0),
           {whose, bytes_at(statement, 1), sqlite3_column_int64(statement, 2),
            bytes_at(statement, 3)}});
    }
    engine::Status status =
        step == SQLITE_DONE ? engine::Status(engine::Done{}) : engine::Status(unreadable());
    sqlite3_reset(statement);
    return status;
  }
  [[nodiscard]] engine::Status rows_of(std::string_view patient, std::int64_t after,
                                       const UseOrder& use) const {
    bind(of_patient.get(), 1, patient);
    sqlite3_bind_int64(of_patient.get(), 2, after);
    return rows(of_patient.get(), patient, use);
  }

  /// A statement with one number.
  template <class Number>
  [[nodiscard]] engine::Status run_for(const char* sql, Number number) const {
    const Statement statement = prepare(sql);
    if (statement == nullptr) return unwritable();
    if constexpr (std::is_integral_v<Number>) {
      sqlite3_bind_int64(statement.get(), 1, number);
    } else {
      sqlite3_bind_double(statement.get(), 1, number);
    }
    if (!finish(statement.get())) return unwritable();
    return engine::Done{};
  }

  [[nodiscard]] engine::Status bring_up_to_date() const {
    const auto application = number("PRAGMA application_id");
    const auto version = number("PRAGMA user_version");
    const auto tables = number("SELECT count(*) FROM sqlite_schema");
    for (const auto* answer : {&application, &version, &tables})
      if (!*answer) return answer->error();
    const std::int64_t found = **tables == 0 ? 0 : version->value_or(0);
    const bool is_ours = **tables == 0 || **application == sqlite::kApplication;
    if (!is_ours || found > sqlite::kVersion) {
      return engine::Error{engine::Errc::Input,
                           path + ": is a database, but no history of this version of meniscus"};
    }
    engine::Status made = engine::Done{};
    if (found < 1) made = run(sqlite::kFirstVersion, "cannot be made");
    if (made && found < 2) made = run(sqlite::kSecondVersion, "cannot be brought up to date");
    if (made && found < 3) made = run(sqlite::kThirdVersion, "cannot be brought up to date");
    return made;
  }

  /// The statements that are used again and again.
  [[nodiscard]] bool prepare_all() {
    begin = prepare("BEGIN IMMEDIATE");
    commit = prepare("COMMIT");
    of_patient = prepare(sqlite::kOfPatient);
    insert = prepare(sqlite::kAdd);
    answer_to = prepare(sqlite::kAnswerTo);
    add_answer = prepare(sqlite::kAddAnswer);
    const auto statements = all();
    return std::none_of(statements.begin(), statements.end(),
                        [](const Statement* one) { return *one == nullptr; });
  }
  [[nodiscard]] std::array<Statement*, 6> all() {
    return {&begin, &commit, &of_patient, &insert, &answer_to, &add_answer};
  }

  std::string path;
  sqlite3* handle = nullptr;
  Statement begin;
  Statement commit;
  Statement of_patient;
  Statement insert;
  Statement answer_to;
  Statement add_answer;
  std::string digest;  // of the answer that answer_to() has found
  std::string answer;
  bool in_turn = false;
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
  engine::Status ready = db.run(sqlite::kSettings, "cannot be used");
  if (ready) ready = db.bring_up_to_date();
  if (!ready) return ready.error();
  if (!db.prepare_all()) return db.error("cannot be used");
  return std::unique_ptr<SqliteStore>(new SqliteStore(std::move(database)));
}

engine::Status SqliteStore::begin(std::span<const std::string_view> /*patients*/) {
  if (database_->in_turn) return engine::Done{};
  engine::Status begun =
      database_->ended(Database::finish(database_->begin.get()), "cannot be written");
  database_->in_turn = begun.has_value();
  return begun;
}

engine::Status SqliteStore::commit() {
  if (!std::exchange(database_->in_turn, false)) return engine::Done{};
  return database_->ended(Database::finish(database_->commit.get()), "cannot be written");
}

void SqliteStore::roll_back() {
  database_->in_turn = false;
  sqlite3_exec(database_->handle, "ROLLBACK", nullptr, nullptr, nullptr);
}

engine::Status SqliteStore::read(std::span<const Wanted> wanted, const UseOrder& use,
                                 const UseMerge& /*use_merge*/) {
  for (const Wanted& one : wanted) {
    engine::Status read = database_->rows_of(one.patient, one.after, use);
    if (!read) return read;
  }
  return engine::Done{};
}

engine::Status SqliteStore::each(std::string_view patient, const UseOrder& use) {
  if (!patient.empty()) return database_->rows_of(patient, 0, use);
  const Statement all = database_->prepare(sqlite::kAll);
  if (all == nullptr) return database_->unreadable();
  return database_->rows(all.get(), {}, use);
}

engine::Status SqliteStore::each_merge(const UseMerge& use) {
  const Statement all = database_->prepare(sqlite::kMerges);
  if (all == nullptr) return database_->unreadable();
  int step = sqlite3_step(all.get());
  for (; step == SQLITE_ROW; step = sqlite3_step(all.get()))
    use(bytes_at(all.get(), 0), bytes_at(all.get(), 1));
  if (step != SQLITE_DONE) return database_->unreadable();
  return engine::Done{};
}

engine::Result<std::int64_t> SqliteStore::add(const StoredOrder& order) {
  sqlite3_stmt* const insert = database_->insert.get();
  bind(insert, 1, order.patient);
  bind(insert, 2, order.number);
  sqlite3_bind_int64(insert, 3, order.day);
  bind(insert, 4, order.text);
  if (!Database::finish(insert)) return database_->unwritable();
  return sqlite3_last_insert_rowid(database_->handle);
}

engine::Status SqliteStore::merge(std::string_view former, std::string_view patient) {
  if (former == patient) return engine::Done{};
  for (const char* const sql : sqlite::kMerge) {
    const Statement statement = database_->prepare(sql);
    if (statement == nullptr) return database_->unwritable();
    bind(statement.get(), 1, former);
    bind(statement.get(), 2, patient);
    if (!Database::finish(statement.get())) return database_->unwritable();
  }
  return engine::Done{};
}

engine::Result<std::optional<KeptAnswer>> SqliteStore::answer_to(std::string_view sender,
                                                                 std::string_view control,
                                                                 double oldest) {
  sqlite3_stmt* const found = database_->answer_to.get();
  bind(found, 1, sender);
  bind(found, 2, control);
  const int step = sqlite3_step(found);
  std::optional<KeptAnswer> kept;
  if (step == SQLITE_ROW && sqlite3_column_double(found, 1) >= oldest) {
    database_->digest = bytes_at(found, 0);
    database_->answer = bytes_at(found, 2);
    kept = {sender, control, database_->digest, sqlite3_column_double(found, 1), database_->answer};
  }
  sqlite3_reset(found);
  if (step != SQLITE_ROW && step != SQLITE_DONE) return database_->unreadable();
  return kept;
}

engine::Status SqliteStore::add_answer(const KeptAnswer& answer) {
  sqlite3_stmt* const insert = database_->add_answer.get();
  bind(insert, 1, answer.sender);
  bind(insert, 2, answer.control);
  bind_bytes(insert, 3, answer.digest);
  sqlite3_bind_double(insert, 4, answer.at);
  bind_bytes(insert, 5, answer.answer);
  if (!Database::finish(insert)) return database_->unwritable();
  return engine::Done{};
}

engine::Status SqliteStore::each_answered(const UseAnswered& use) {
  const Statement all = database_->prepare(sqlite::kAnswered);
  if (all == nullptr) return database_->unreadable();
  int step = sqlite3_step(all.get());
  for (; step == SQLITE_ROW; step = sqlite3_step(all.get()))
    use({bytes_at(all.get(), 0), bytes_at(all.get(), 1)}, sqlite3_column_double(all.get(), 2));
  if (step != SQLITE_DONE) return database_->unreadable();
  return engine::Done{};
}

engine::Status SqliteStore::drop_answers(double oldest) {
  return database_->run_for(sqlite::kDropAnswers, oldest);
}

engine::Result<std::optional<std::int64_t>> SqliteStore::since() {
  return database_->number(sqlite::kSince);
}

engine::Status SqliteStore::set_since(std::int64_t day) {
  return database_->run_for(sqlite::kSetSince, day);
}

engine::Result<std::uint64_t> SqliteStore::prune(std::int64_t day) {
  engine::Status done = begin({});
  if (done) done = database_->run_for(sqlite::kPrune, day);
  const auto dropped = static_cast<std::uint64_t>(sqlite3_changes64(database_->handle));
  // What was before that day is not whole any more.
  if (done) done = database_->run_for(sqlite::kPruneSince, day);
  if (!done) {
    roll_back();
    return done.error();
  }
  done = commit();
  if (!done) return done.error();
  return dropped;
}

engine::Result<StoreSize> SqliteStore::size() {
  StoreSize size;
  const auto count = [&](const char* sql, std::uint64_t& into) -> engine::Status {
    const auto counted = database_->count(sql);
    if (!counted) return counted.error();
    into = *counted;
    return engine::Done{};
  };
  engine::Status read = count("SELECT count(*) FROM orders", size.orders);
  if (read) read = count("SELECT count(DISTINCT patient) FROM orders", size.patients);
  if (read) read = count(sqlite::kCountAnswers, size.answers);
  if (read) read = count("SELECT count(*) FROM merged", size.merges);
  if (!read) return read.error();
  return size;
}

}  // namespace meniscus::adapters
