// Contract: see postgres_session.hpp.
#include "adapters/history/postgres_session.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

namespace meniscus::adapters::postgres {

using engine::Done;
using engine::Status;

namespace {

constexpr auto kBetweenTries = std::chrono::seconds(1);

template <class Number>
std::string digits(Number value) {
  std::array<char, 40> room{};
  const auto [end, error] = std::to_chars(room.data(), room.data() + room.size(), value);
  return {room.data(), error == std::errc{} ? end : room.data()};
}

/// Without its end of line, and only the first one: the others may quote.
std::string first_line(std::string_view message) {
  return std::string(message.substr(0, message.find('\n')));
}

bool is_fine(ExecStatusType status) {
  return status == PGRES_COMMAND_OK || status == PGRES_TUPLES_OK || status == PGRES_SINGLE_TUPLE;
}

}  // namespace

std::int64_t Rows::number(int row, int column) const {
  const std::string_view digits = text(row, column);
  std::int64_t value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return value;
}

double Rows::real(int row, int column) const {
  const std::string_view digits = text(row, column);
  double value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return value;
}

std::uint64_t Rows::dropped() const {
  const std::string_view digits =
      libpq().PQcmdTuples(const_cast<PGresult*>(result_));  // NOLINT: it reads
  std::uint64_t value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return value;
}

Parameter text(std::string_view value) { return {std::string(value)}; }
Parameter bytes(std::string_view value) { return {std::string(value), true}; }
Parameter number(std::int64_t value) { return {digits(value)}; }
Parameter real(double value) { return {digits(value)}; }

Parameter texts(const std::vector<std::string_view>& values) {
  std::string list = "{";
  for (const std::string_view value : values) {
    list += list.size() > 1 ? ",\"" : "\"";
    for (const char c : value) {
      if (c == '"' || c == '\\') list += '\\';
      list += c;
    }
    list += '"';
  }
  return {list + "}"};
}

Parameter numbers(const std::vector<std::int64_t>& values) {
  std::string list = "{";
  for (const std::int64_t value : values)
    list += (list.size() > 1 ? "," : "") + digits(value);
  return {list + "}"};
}

Session::Session(std::string address, std::string name, std::vector<std::string> setup,
                 std::vector<const char*> often)
    : address_(std::move(address)),
      name_(std::move(name)),
      setup_(std::move(setup)),
      often_(std::move(often)) {}
Session::~Session() = default;

engine::Error Session::error() const {
  std::string text = name_ + ": ";
  if (problem_) {
    text += *problem_;
  } else {
    text += connection_ == nullptr ? "the database cannot be reached"
                                   : first_line(libpq().PQerrorMessage(connection_.get()));
  }
  return {engine::Errc::Input, std::move(text)};
}

Status Session::connect() {
  if (connection_ != nullptr && libpq().PQstatus(connection_.get()) == CONNECTION_OK) return Done{};
  const auto now = std::chrono::steady_clock::now();
  if (tried_ != std::chrono::steady_clock::time_point{} && now - tried_ < kBetweenTries)
    return error();
  tried_ = now;
  problem_.reset();
  if (const Status opened = open_libpq(); !opened) {
    problem_ = opened.error().message;
    return error();
  }
  connection_.reset(libpq().PQconnectdb(address_.c_str()));
  if (libpq().PQstatus(connection_.get()) != CONNECTION_OK) {
    const engine::Error refused = error();
    problem_ =
        "the database cannot be reached: " + first_line(libpq().PQerrorMessage(connection_.get()));
    connection_.reset();
    return refused;
  }
  libpq().PQsetNoticeProcessor(
      connection_.get(), [](void*, const char*) {}, nullptr);  // it would write to stderr
  // What the server says of a fault is its kind, without the row.
  libpq().PQsetErrorVerbosity(connection_.get(), PQERRORS_TERSE);
  libpq().PQsetErrorContextVisibility(connection_.get(), PQSHOW_CONTEXT_NEVER);
  Status ready = set_up();
  if (ready) {
    tried_ = {};  // one that is lost is tried again at once
    return ready;
  }
  problem_ = first_line(libpq().PQerrorMessage(connection_.get()));
  connection_.reset();
  return ready;
}

Status Session::set_up() {
  for (const std::string& sql : setup_) {
    Status done = run(sql);
    if (!done) return done;
  }
  for (std::size_t i = 0; i < often_.size(); ++i) {
    const std::string name = "s" + std::to_string(i);
    const Answer answer(libpq().PQprepare(connection_.get(), name.c_str(), often_[i], 0, nullptr));
    if (!is_fine(libpq().PQresultStatus(answer.get()))) return error();
  }
  return Done{};
}

Status Session::run(const std::string& sql) {
  const Answer answer(libpq().PQexec(connection_.get(), sql.c_str()));
  if (is_fine(libpq().PQresultStatus(answer.get()))) return Done{};
  return error();
}

bool Session::send(const Request& request) {
  std::vector<const char*> values;
  std::vector<int> lengths;
  std::vector<int> formats;
  for (const Parameter& parameter : request.parameters) {
    values.push_back(parameter.value.c_str());
    lengths.push_back(static_cast<int>(parameter.value.size()));
    formats.push_back(parameter.bytes ? 1 : 0);
  }
  const auto count = static_cast<int>(values.size());
  const int raw = request.raw ? 1 : 0;
  const auto often = std::find(often_.begin(), often_.end(), request.sql);
  if (often == often_.end()) {
    return libpq().PQsendQueryParams(connection_.get(), request.sql, count, nullptr, values.data(),
                                     lengths.data(), formats.data(), raw) == 1;
  }
  const std::string name = "s" + std::to_string(often - often_.begin());
  return libpq().PQsendQueryPrepared(connection_.get(), name.c_str(), count, values.data(),
                                     lengths.data(), formats.data(), raw) == 1;
}

void Session::note(const PGresult* result) {
  const ExecStatusType status = libpq().PQresultStatus(result);
  if (is_fine(status) || status == PGRES_PIPELINE_SYNC || status == PGRES_PIPELINE_ABORTED) return;
  if (!problem_) problem_ = first_line(libpq().PQresultErrorMessage(result));
}

Session::Answer Session::next() { return Answer(libpq().PQgetResult(connection_.get())); }

Status Session::begin() {
  if (in_turn_) return problem_ ? Status(error()) : Status(Done{});
  Status connected = connect();
  if (!connected) return connected;
  problem_.reset();
  waiting_.clear();
  if (libpq().PQenterPipelineMode(connection_.get()) != 1) return error();
  in_turn_ = true;
  return queue({"BEGIN"});
}

Status Session::queue(Request request) {
  if (problem_) return error();
  if (!send(request)) {
    problem_ = first_line(libpq().PQerrorMessage(connection_.get()));
    return error();
  }
  waiting_.push_back(std::move(request.use));
  return Done{};
}

/// The results of one statement, up to the null that ends them.
void Session::take_answers(UseRows& use) {
  for (Answer answer = next(); answer != nullptr; answer = next()) {
    note(answer.get());
    if (use && !problem_ && is_fine(libpq().PQresultStatus(answer.get()))) use(Rows(answer.get()));
    if (libpq().PQstatus(connection_.get()) != CONNECTION_OK) return;
  }
}

/// The mark that ends what was sent.  False: the connection is lost, and there is none.
bool Session::read_to_sync() {
  // A null ends the answers of a statement; where nothing follows it, nothing comes any more.
  for (int nulls = 0; nulls < 2 && libpq().PQstatus(connection_.get()) == CONNECTION_OK;) {
    const Answer answer = next();
    nulls = answer == nullptr ? nulls + 1 : 0;
    if (answer == nullptr) continue;
    if (libpq().PQresultStatus(answer.get()) == PGRES_PIPELINE_SYNC) return true;
    note(answer.get());
  }
  if (!problem_) problem_ = "the connection to the database was lost";
  return false;
}

Status Session::flush() {
  if (problem_) return error();
  if (libpq().PQpipelineSync(connection_.get()) != 1) {
    problem_ = first_line(libpq().PQerrorMessage(connection_.get()));
    return error();
  }
  for (UseRows& use : std::exchange(waiting_, {}))
    take_answers(use);
  if (!read_to_sync()) is_lost_ = true;
  return problem_ ? Status(error()) : Status(Done{});
}

Status Session::commit() {
  if (!in_turn_) return Done{};
  Status done = queue({"COMMIT"});
  if (done) done = flush();
  if (!done) return done;
  in_turn_ = false;
  if (libpq().PQexitPipelineMode(connection_.get()) == 1) return Done{};
  connection_.reset();  // what was committed is; the next turn connects anew
  return Done{};
}

void Session::roll_back() {
  if (!std::exchange(in_turn_, false)) return;
  waiting_.clear();
  problem_.reset();
  // What was sent and not answered, and the mark, are read; then the transaction ends with the
  // connection's own statement.  Where that does not go well, the connection goes: that undoes all.
  const bool is_there = !std::exchange(is_lost_, false) && connection_ != nullptr &&
                        libpq().PQstatus(connection_.get()) == CONNECTION_OK;
  const bool is_out = is_there && libpq().PQpipelineSync(connection_.get()) == 1 &&
                      read_to_sync() && libpq().PQexitPipelineMode(connection_.get()) == 1;
  problem_.reset();
  if (!is_out || !run("ROLLBACK")) connection_.reset();
}

Status Session::ask(Request request) {
  if (in_turn_) {
    Status queued = queue(std::move(request));
    return queued ? flush() : queued;
  }
  Status connected = connect();
  if (!connected) return connected;
  problem_.reset();
  if (!send(request)) return error();
  take_answers(request.use);
  if (!problem_) return Done{};
  const engine::Error failed = error();
  problem_.reset();
  return failed;
}

Status Session::stream(const Request& request) {
  Status connected = connect();
  if (!connected) return connected;
  problem_.reset();
  if (!send(request) || libpq().PQsetSingleRowMode(connection_.get()) != 1) return error();
  for (Answer answer = next(); answer != nullptr; answer = next()) {
    note(answer.get());
    if (libpq().PQresultStatus(answer.get()) == PGRES_SINGLE_TUPLE) request.use(Rows(answer.get()));
  }
  if (!problem_) return Done{};
  const engine::Error failed = error();
  problem_.reset();
  return failed;
}

}  // namespace meniscus::adapters::postgres
