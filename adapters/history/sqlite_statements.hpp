// What sqlite_store.cpp says to SQLite: the tables, their versions, and every statement.
#pragma once

#include <array>

namespace meniscus::adapters::sqlite {

constexpr int kApplication = 0x4D4E4353;  // "MNCS": says whose file this is
constexpr int kVersion = 3;

constexpr const char* kSettings =
    "PRAGMA locking_mode = EXCLUSIVE;"
    "PRAGMA journal_mode = WAL;"
    "PRAGMA synchronous = FULL;"
    "PRAGMA cache_size = -16000;";  // kB; what one turn after the other comes back to

// From nothing to version 1, as it was; the later versions follow.
constexpr const char* kFirstVersion =
    "BEGIN IMMEDIATE;"
    "CREATE TABLE orders("
    "  receipt INTEGER PRIMARY KEY,"  // counts up as orders come in
    "  patient TEXT NOT NULL,"
    "  number TEXT NOT NULL,"  // of the order
    "  day INTEGER NOT NULL,"  // StoredOrder::day
    "  text TEXT NOT NULL"     // one line of JSON
    ") STRICT;"
    "CREATE INDEX orders_of_a_patient ON orders(patient, number, receipt);"
    "PRAGMA application_id = 1296974675;"
    "PRAGMA user_version = 1;"
    "COMMIT;";

// Patients that were merged, answers that were given, and the day from which on all is known.
constexpr const char* kSecondVersion =
    "BEGIN IMMEDIATE;"
    "DROP INDEX orders_of_a_patient;"
    "CREATE INDEX orders_of_a_patient ON orders(patient);"  // and by receipt: it is the row's id
    "CREATE TABLE merged(former TEXT PRIMARY KEY, patient TEXT NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE answers("
    "  sender TEXT NOT NULL,"
    "  control TEXT NOT NULL,"
    "  digest BLOB NOT NULL,"
    "  at REAL NOT NULL,"
    "  answer BLOB NOT NULL,"
    "  PRIMARY KEY(sender, control)"
    ") STRICT, WITHOUT ROWID;"
    "CREATE INDEX answers_by_age ON answers(at);"
    "CREATE TABLE facts(name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT, WITHOUT ROWID;"
    "INSERT INTO facts SELECT 'since', day FROM orders ORDER BY receipt LIMIT 1;"
    "PRAGMA user_version = 2;"
    "COMMIT;";

// Answers one after the other, as orders are: each goes to the end, and only the page there and one
// of the index are written.  Control ids mostly count up, so that page is mostly the same one.
constexpr const char* kThirdVersion =
    "BEGIN IMMEDIATE;"
    "ALTER TABLE answers RENAME TO answers_of_version_2;"
    "CREATE TABLE answers("
    "  id INTEGER PRIMARY KEY,"  // counts up; of several for one message the last is meant
    "  sender TEXT NOT NULL,"
    "  control TEXT NOT NULL,"
    "  digest BLOB NOT NULL,"
    "  at REAL NOT NULL,"
    "  answer BLOB NOT NULL"
    ") STRICT;"
    "INSERT INTO answers(sender, control, digest, at, answer)"
    "  SELECT sender, control, digest, at, answer FROM answers_of_version_2 ORDER BY at;"
    "DROP TABLE answers_of_version_2;"
    "CREATE INDEX answers_by_control ON answers(control);"
    "PRAGMA user_version = 3;"
    "COMMIT;";

static_assert(kApplication == 1296974675 && kVersion == 3);

constexpr const char* kOfPatient =
    "SELECT receipt, number, day, text FROM orders WHERE patient = ?1 AND receipt > ?2 "
    "ORDER BY receipt";
constexpr const char* kAll =
    "SELECT receipt, number, day, text, patient FROM orders ORDER BY receipt";
constexpr const char* kMerges = "SELECT former, patient FROM merged ORDER BY former";
constexpr const char* kAdd =
    "INSERT INTO orders(patient, number, day, text) VALUES (?1, ?2, ?3, ?4)";

// ?1 is the former id, ?2 the patient's; a statement may have one of them only.
constexpr std::array<const char*, 5> kMerge = {
    "INSERT INTO orders(patient, number, day, text) "
    "SELECT ?2, number, day, text FROM orders WHERE patient = ?1 ORDER BY receipt",
    "DELETE FROM orders WHERE patient = ?1",
    "DELETE FROM merged WHERE former = ?2",  // merged the other way before
    "UPDATE merged SET patient = ?2 WHERE patient = ?1",
    "INSERT OR REPLACE INTO merged(former, patient) VALUES (?1, ?2)"};

constexpr const char* kAnswerTo =
    "SELECT digest, at, answer FROM answers WHERE control = ?2 AND sender = ?1 "
    "ORDER BY id DESC LIMIT 1";
constexpr const char* kAddAnswer =
    "INSERT INTO answers(sender, control, digest, at, answer) VALUES (?1, ?2, ?3, ?4, ?5)";
constexpr const char* kAnswered = "SELECT sender, control, at FROM answers ORDER BY id";
// Up to the first that is young enough: where a clock was set back, those behind it wait for it.
constexpr const char* kDropAnswers =
    "DELETE FROM answers WHERE id < coalesce("
    "(SELECT id FROM answers WHERE at >= ?1 ORDER BY id LIMIT 1), 9223372036854775807)";
constexpr const char* kCountAnswers =
    "SELECT count(*) FROM (SELECT DISTINCT sender, control FROM answers)";
constexpr const char* kSince = "SELECT value FROM facts WHERE name = 'since'";
constexpr const char* kSetSince =
    "INSERT INTO facts(name, value) VALUES ('since', ?1) "
    "ON CONFLICT(name) DO UPDATE SET value = min(value, excluded.value)";
constexpr const char* kPruneSince = "UPDATE facts SET value = max(value, ?1) WHERE name = 'since'";
constexpr const char* kPrune = "DELETE FROM orders WHERE day < ?1";

}  // namespace meniscus::adapters::sqlite
