// One connection to PostgreSQL: statements sent one after another, their answers read together.
//
//   session.queue({kLock, {patients}});
//   session.queue({kRead, {patients}, use});
//   const engine::Status done = session.flush();       // one round trip for both
//
// Turn:     begin() to commit() or roll_back(), in one transaction.  Outside of it ask() runs a
//           statement by itself.
// Failed:   after an error in a turn every statement of it fails; roll_back() ends it.  A lost
//           connection is made again by the next begin() or ask(), at most once a second.
// Errors:   Input, with what the server says in short: no value of a row is in it.
// Threads:  one at a time.
#pragma once

#include "adapters/history/libpq.hpp"

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.hpp"

namespace meniscus::adapters::postgres {

/// The rows of an answer.
class Rows {
 public:
  explicit Rows(const PGresult* result) : result_(result) {}
  [[nodiscard]] int size() const { return libpq().PQntuples(result_); }
  [[nodiscard]] std::string_view text(int row, int column) const {
    return {libpq().PQgetvalue(result_, row, column),
            static_cast<std::size_t>(libpq().PQgetlength(result_, row, column))};
  }
  [[nodiscard]] std::int64_t number(int row, int column) const;
  [[nodiscard]] double real(int row, int column) const;
  /// Rows that a DELETE has dropped.
  [[nodiscard]] std::uint64_t dropped() const;

 private:
  const PGresult* result_;
};

/// A value of a statement: text, or bytes as they are.
struct Parameter {
  std::string value;
  bool bytes = false;
};
Parameter text(std::string_view value);
Parameter bytes(std::string_view value);
Parameter number(std::int64_t value);
Parameter real(double value);
/// text[] and bigint[].
Parameter texts(const std::vector<std::string_view>& values);
Parameter numbers(const std::vector<std::int64_t>& values);

using UseRows = std::function<void(const Rows&)>;

struct Request {
  const char* sql;
  std::vector<Parameter> parameters{};
  UseRows use{};
  bool raw = false;  // every column is text or bytea, and bytes come as they are
};

class Session {
 public:
  /// `setup` is run on each new connection before anything else; `often` are statements that the
  /// server is to read once a connection.  Requests name them by the same pointer.
  Session(std::string address, std::string name, std::vector<std::string> setup,
          std::vector<const char*> often);
  ~Session();
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

  engine::Status connect();

  engine::Status begin();
  [[nodiscard]] bool in_turn() const { return in_turn_; }
  /// In a turn: sent now, answered at the next flush().
  engine::Status queue(Request request);
  /// In a turn: the answers to all that was queued, handed to their uses.
  engine::Status flush();
  engine::Status commit();
  void roll_back();

  /// A statement and its answer: in a turn with what is queued, else by itself.
  engine::Status ask(Request request);
  /// Outside of a turn: the rows one at a time, so that memory holds one.
  engine::Status stream(const Request& request);

 private:
  struct Close {
    void operator()(PGconn* connection) const { libpq().PQfinish(connection); }
  };
  struct Clear {
    void operator()(PGresult* result) const { libpq().PQclear(result); }
  };
  using Answer = std::unique_ptr<PGresult, Clear>;

  [[nodiscard]] engine::Error error() const;
  engine::Status run(const std::string& sql);
  engine::Status set_up();
  bool send(const Request& request);
  void note(const PGresult* result);
  Answer next();
  void take_answers(UseRows& use);
  bool read_to_sync();

  std::string address_;
  std::string name_;  // how errors name the store
  std::vector<std::string> setup_;
  std::vector<const char*> often_;
  std::unique_ptr<PGconn, Close> connection_;
  std::vector<UseRows> waiting_;  // for their answers, in order
  std::optional<std::string> problem_;
  bool in_turn_ = false;
  bool is_lost_ = false;  // in this turn
  std::chrono::steady_clock::time_point tried_{};
};

}  // namespace meniscus::adapters::postgres
