// What postgres_store.cpp says to PostgreSQL.
#pragma once

#include <array>

namespace meniscus::adapters::postgres {

inline constexpr int kVersion = 1;

// One lock for making the tables, beside those of patients: "MNCS" and the kind.
inline constexpr const char* kLockSchema = "SELECT pg_advisory_xact_lock(1296974675, 0)";

inline constexpr std::array<const char*, 8> kTables = {
    "CREATE SEQUENCE IF NOT EXISTS receipts",
    "CREATE TABLE IF NOT EXISTS orders("
    "  receipt bigint PRIMARY KEY,"  // counts up as orders come in
    "  patient text NOT NULL,"
    "  number text NOT NULL,"  // of the order
    "  day bigint NOT NULL,"   // StoredOrder::day
    "  text text NOT NULL)",   // one line of JSON
    "CREATE INDEX IF NOT EXISTS orders_of_a_patient ON orders(patient, receipt)",
    "CREATE TABLE IF NOT EXISTS merged(former text PRIMARY KEY, patient text NOT NULL)",
    "CREATE INDEX IF NOT EXISTS merged_into ON merged(patient)",
    "CREATE TABLE IF NOT EXISTS answers("
    "  sender text, control text, digest bytea NOT NULL, at float8 NOT NULL, answer bytea NOT NULL,"
    "  PRIMARY KEY(sender, control))",
    "CREATE INDEX IF NOT EXISTS answers_by_age ON answers(at)",
    "CREATE TABLE IF NOT EXISTS facts(name text PRIMARY KEY, value bigint NOT NULL)"};
inline constexpr const char* kSetVersion =
    "INSERT INTO facts(name, value) VALUES ('version', $1) ON CONFLICT (name) DO NOTHING";
inline constexpr const char* kSyncs =
    "SELECT count(*) FROM pg_settings WHERE name = 'fsync' AND setting = 'on'";
inline constexpr const char* kHasTables = "SELECT count(to_regclass('facts'))";
inline constexpr const char* kGetVersion = "SELECT value FROM facts WHERE name = 'version'";

// Locks are taken in the order of their keys, by every program; the seed tells them from others'.
inline constexpr const char* kLock =
    "SELECT pg_advisory_xact_lock(key) FROM ("
    "  SELECT DISTINCT hashtextextended(current_schema() || ' ' || patient, 1296974675) AS key"
    "  FROM unnest($1::text[]) AS patient ORDER BY key OFFSET 0) AS keys";
inline constexpr const char* kReserve =
    "SELECT nextval('receipts') FROM generate_series(1, $1::int)";
inline constexpr const char* kRead =
    "SELECT o.receipt, o.patient, o.number, o.day, o.text"
    " FROM unnest($1::text[], $2::bigint[]) AS wanted(patient, after)"
    " JOIN orders AS o ON o.patient = wanted.patient AND o.receipt > wanted.after"
    " ORDER BY o.receipt";
inline constexpr const char* kMergesOf =
    "SELECT former, patient FROM merged WHERE former = ANY($1::text[]) OR patient = "
    "ANY($1::text[])";
inline constexpr const char* kAnswersTo =
    "SELECT a.sender, a.control, a.digest, a.at::text, a.answer"
    " FROM unnest($1::text[], $2::text[]) AS wanted(sender, control)"
    " JOIN answers AS a USING (sender, control) WHERE a.at >= $3::float8";
inline constexpr const char* kAnswered =
    "SELECT sender, control, at::text FROM answers ORDER BY at";
inline constexpr const char* kAdd =
    "INSERT INTO orders(receipt, patient, number, day, text)"
    " VALUES ($1::bigint, $2, $3, $4::bigint, $5)";
inline constexpr const char* kAddAnswer =
    "INSERT INTO answers(sender, control, digest, at, answer) VALUES ($1, $2, $3, $4::float8, $5)"
    " ON CONFLICT (sender, control) DO UPDATE"
    " SET digest = excluded.digest, at = excluded.at, answer = excluded.answer";

inline constexpr const char* kAll =
    "SELECT receipt, patient, number, day, text FROM orders ORDER BY receipt";
inline constexpr const char* kOfPatient =
    "SELECT receipt, patient, number, day, text FROM orders WHERE patient = $1 ORDER BY receipt";
inline constexpr const char* kMerges = "SELECT former, patient FROM merged ORDER BY former";

// $1 is the former id, $2 the patient's.
inline constexpr const char* kMoveOrders =
    "INSERT INTO orders(receipt, patient, number, day, text)"
    " SELECT nextval('receipts'), $2, number, day, text"
    " FROM (SELECT * FROM orders WHERE patient = $1 ORDER BY receipt OFFSET 0) AS old";
inline constexpr const char* kDropMoved = "DELETE FROM orders WHERE patient = $1";
inline constexpr const char* kUnmerge = "DELETE FROM merged WHERE former = $1";
inline constexpr const char* kMergeOnwards = "UPDATE merged SET patient = $2 WHERE patient = $1";
inline constexpr const char* kMerge =
    "INSERT INTO merged(former, patient) VALUES ($1, $2)"
    " ON CONFLICT (former) DO UPDATE SET patient = excluded.patient";

inline constexpr const char* kDropAnswers = "DELETE FROM answers WHERE at < $1::float8";
inline constexpr const char* kSince = "SELECT value FROM facts WHERE name = 'since'";
inline constexpr const char* kSetSince =
    "INSERT INTO facts(name, value) VALUES ('since', $1::bigint)"
    " ON CONFLICT (name) DO UPDATE SET value = least(facts.value, excluded.value)";
inline constexpr const char* kPrune = "DELETE FROM orders WHERE day < $1::bigint";
inline constexpr const char* kPruneSince =
    "UPDATE facts SET value = greatest(value, $1::bigint) WHERE name = 'since'";
inline constexpr const char* kSize =
    "SELECT (SELECT count(*) FROM orders), (SELECT count(DISTINCT patient) FROM orders),"
    " (SELECT count(*) FROM answers), (SELECT count(*) FROM merged)";

}  // namespace meniscus::adapters::postgres
