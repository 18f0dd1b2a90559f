// Contract: see postgres_store.hpp.
#include "adapters/history/postgres_store.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <deque>
#include <map>
#include <utility>
#include <vector>

#include "adapters/history/postgres_session.hpp"
#include "adapters/history/postgres_statements.hpp"

namespace meniscus::adapters {

using engine::Done;
using engine::Status;
using postgres::Rows;

namespace {

constexpr std::string_view kDefaultSchema = "meniscus";
constexpr std::size_t kReceipts = 16;  // drawn at least at a time

/// The address without our own keyword, and its value.
struct Address {
  std::string libpq;
  std::string schema{kDefaultSchema};
};

Address address_of(const std::string& text) {
  constexpr std::string_view kSchema = "schema=";
  Address address{text};
  const std::size_t at = text.find(kSchema);
  const bool is_word = at != std::string::npos && (at == 0 || text[at - 1] == ' ');
  if (is_word && !text.starts_with("postgres")) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    address.schema = text.substr(at + kSchema.size(), end - at - kSchema.size());
    address.libpq.erase(at, end - at);
  }
  // Before what the address says itself: a keyword that stands twice counts where it stands last.
  if (!text.starts_with("postgres"))
    address.libpq = "connect_timeout=3 tcp_user_timeout=10000 " + address.libpq;
  return address;
}

std::string quoted(std::string_view name) {
  std::string text = "\"";
  for (const char c : name)
    text.append(c == '"' ? 2 : 1, c);
  return text + "\"";
}

std::vector<std::string> setup_of(const std::string& schema) {
  return {"SET client_encoding = 'UTF8'",
          "SET client_min_messages = 'warning'",
          "SET search_path = " + quoted(schema),
          "SET synchronous_commit = on",
          "SET lock_timeout = '5s'",
          "SET statement_timeout = '10s'",
          "SET idle_in_transaction_session_timeout = '30s'"};
}

/// Text as the database can hold it whatever it is: printable ASCII, the rest as %XX.
std::string plain(std::string_view text) {
  constexpr std::string_view kDigits = "0123456789ABCDEF";
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte > ' ' && byte < 0x7F && c != '%') {
      out += c;
      continue;
    }
    out += '%';
    out += kDigits[byte >> 4U];
    out += kDigits[byte & 15U];
  }
  return out;
}

KeptOrder order_of(const Rows& rows, int row) {
  return {rows.number(row, 0),
          {rows.text(row, 1), rows.text(row, 2), rows.number(row, 3), rows.text(row, 4)}};
}

/// Rows of orders, one by one.
postgres::UseRows each_order(const OrderStore::UseOrder& use) {
  return [&use](const Rows& rows) {
    for (int row = 0; row < rows.size(); ++row)
      use(order_of(rows, row));
  };
}
postgres::UseRows each_pair(const OrderStore::UseMerge& use) {
  return [&use](const Rows& rows) {
    for (int row = 0; row < rows.size(); ++row)
      use(rows.text(row, 0), rows.text(row, 1));
  };
}

/// A text of the database ends at a zero byte: two patients would be one.
Status check_text(std::string_view text) {
  if (text.find('\0') == std::string_view::npos) return Done{};
  return engine::Error{engine::Errc::Input,
                       "a patient's or an order's number holds a zero byte: it cannot be kept"};
}

constexpr const char* kName = "postgresql";

/// One number, 0 where there is none.
engine::Result<std::int64_t> number_of(postgres::Session& session, const char* sql) {
  std::int64_t value = 0;
  const Status asked = session.ask({sql, {}, [&](const Rows& rows) {
                                      if (rows.size() > 0) value = rows.number(0, 0);
                                    }});
  if (!asked) return asked.error();
  return value;
}

Status create_tables(postgres::Session& session, const std::string& schema) {
  const std::string make_schema = "CREATE SCHEMA IF NOT EXISTS " + quoted(schema);
  std::vector<postgres::Request> requests = {{postgres::kLockSchema}, {make_schema.c_str()}};
  for (const char* const sql : postgres::kTables)
    requests.push_back({sql});
  requests.push_back({postgres::kSetVersion, {postgres::number(postgres::kVersion)}});
  Status done = session.begin();
  for (postgres::Request& request : requests)
    if (done) done = session.queue(std::move(request));
  return done ? session.commit() : done;
}

/// Schema and tables, where there are none; checks their version where there are.
Status make_tables(const Address& address) {
  postgres::Session maker(address.libpq, kName, setup_of(address.schema), {});
  const auto syncs = number_of(maker, postgres::kSyncs);
  if (!syncs) return syncs.error();
  if (*syncs == 0) {
    return engine::Error{engine::Errc::Input,
                         "postgresql: the database is set not to write to the disk (fsync = off): "
                         "a loss of power would lose orders"};
  }
  const auto there = number_of(maker, postgres::kHasTables);
  if (!there) return there.error();
  Status done = *there == 0 ? create_tables(maker, address.schema) : Status(Done{});
  if (!done) return done;
  const auto version = number_of(maker, postgres::kGetVersion);
  if (!version) return version.error();
  if (*version != postgres::kVersion) {
    return engine::Error{engine::Errc::Input, "postgresql: the schema " + address.schema +
                                                  " holds no history of this version of meniscus"};
  }
  return done;
}

}  // namespace

struct PostgresStore::State {
  explicit State(const Address& address)
      : session(address.libpq, kName, setup_of(address.schema),
                {postgres::kLock, postgres::kReserve, postgres::kRead, postgres::kMergesOf,
                 postgres::kAnswersTo, postgres::kAdd, postgres::kAddAnswer}) {}

  /// Draws receipts for the orders to come; behind the locks of the turn.
  Status reserve(std::size_t count) {
    receipts.clear();
    const auto take = [this](const Rows& rows) {
      for (int row = 0; row < rows.size(); ++row)
        receipts.push_back(rows.number(row, 0));
    };
    return session.queue(
        {postgres::kReserve, {postgres::number(static_cast<std::int64_t>(count))}, take});
  }
  void end_turn() {
    receipts.clear();
    answers.clear();
  }

  struct Said {
    std::string digest;
    double at = 0;
    std::string answer;
  };

  postgres::Session session;
  std::deque<std::int64_t> receipts;  // drawn in this turn and not used
  std::map<std::pair<std::string, std::string>, std::optional<Said>> answers;  // asked for
};

PostgresStore::PostgresStore(std::unique_ptr<State> state) : state_(std::move(state)) {}
PostgresStore::~PostgresStore() = default;

engine::Result<std::unique_ptr<PostgresStore>> PostgresStore::open(const std::string& address) {
  const Address where = address_of(address);
  const Status made = make_tables(where);
  if (!made) return made.error();
  auto state = std::make_unique<State>(where);
  const Status connected = state->session.connect();
  if (!connected) return connected.error();
  return std::unique_ptr<PostgresStore>(new PostgresStore(std::move(state)));
}

Status PostgresStore::begin(std::span<const std::string_view> patients) {
  Status done = state_->session.begin();
  for (const std::string_view patient : patients)
    if (done) done = check_text(patient);
  if (!done || patients.empty()) return done;
  const std::vector<std::string_view> names(patients.begin(), patients.end());
  done = state_->session.queue({postgres::kLock, {postgres::texts(names)}});
  return done ? state_->reserve(std::max(kReceipts, 2 * names.size())) : done;
}

Status PostgresStore::commit() {
  Status done = state_->session.commit();
  if (done) state_->end_turn();
  return done;
}

void PostgresStore::roll_back() {
  state_->session.roll_back();
  state_->end_turn();
}

Status PostgresStore::read(std::span<const Wanted> wanted, const UseOrder& use,
                           const UseMerge& use_merge) {
  std::vector<std::string_view> patients;
  std::vector<std::int64_t> after;
  for (const Wanted& one : wanted) {
    patients.push_back(one.patient);
    after.push_back(one.after);
  }
  const postgres::Parameter names = postgres::texts(patients);
  Status done = state_->session.queue({postgres::kMergesOf, {names}, each_pair(use_merge)});
  if (done) {
    done = state_->session.queue(
        {postgres::kRead, {names, postgres::numbers(after)}, each_order(use)});
  }
  return done ? state_->session.flush() : done;
}

Status PostgresStore::each(std::string_view patient, const UseOrder& use) {
  if (patient.empty()) return state_->session.stream({postgres::kAll, {}, each_order(use)});
  return state_->session.stream({postgres::kOfPatient, {postgres::text(patient)}, each_order(use)});
}

Status PostgresStore::each_merge(const UseMerge& use) {
  return state_->session.ask({postgres::kMerges, {}, each_pair(use)});
}

engine::Result<std::int64_t> PostgresStore::add(const StoredOrder& order) {
  Status done = check_text(order.number);
  if (done) done = check_text(order.patient);
  if (done && state_->receipts.empty()) {
    done = state_->reserve(kReceipts);
    if (done) done = state_->session.flush();
  }
  if (!done) return done.error();
  const std::int64_t receipt = state_->receipts.front();
  state_->receipts.pop_front();
  done = state_->session.queue(
      {postgres::kAdd,
       {postgres::number(receipt), postgres::text(order.patient), postgres::text(order.number),
        postgres::number(order.day), postgres::text(order.text)}});
  if (!done) return done.error();
  return receipt;
}

Status PostgresStore::merge(std::string_view former, std::string_view patient) {
  if (former == patient) return Done{};
  const postgres::Parameter from = postgres::text(former);
  const postgres::Parameter into = postgres::text(patient);
  const std::array<postgres::Request, 5> all = {{{postgres::kMoveOrders, {from, into}},
                                                 {postgres::kDropMoved, {from}},
                                                 {postgres::kUnmerge, {into}},
                                                 {postgres::kMergeOnwards, {from, into}},
                                                 {postgres::kMerge, {from, into}}}};
  // Receipts that were drawn before are behind those of the orders that move.
  state_->receipts.clear();
  for (const postgres::Request& request : all) {
    Status queued = state_->session.queue(request);
    if (!queued) return queued;
  }
  return Done{};
}

Status PostgresStore::expect(std::span<const MessageId> messages, double oldest) {
  std::vector<std::string> senders;
  std::vector<std::string> controls;
  for (const MessageId& message : messages) {
    senders.push_back(plain(message.sender));
    controls.push_back(plain(message.control));
    state_->answers[{senders.back(), controls.back()}] = std::nullopt;
  }
  const auto take = [this](const Rows& rows) {
    for (int row = 0; row < rows.size(); ++row) {
      const std::string at(rows.text(row, 3));
      state_->answers[{std::string(rows.text(row, 0)), std::string(rows.text(row, 1))}] =
          State::Said{std::string(rows.text(row, 2)), std::strtod(at.c_str(), nullptr),
                      std::string(rows.text(row, 4))};
    }
  };
  return state_->session.queue(
      {postgres::kAnswersTo,
       {postgres::texts({senders.begin(), senders.end()}),
        postgres::texts({controls.begin(), controls.end()}), postgres::real(oldest)},
       take,
       true});
}

engine::Result<std::optional<KeptAnswer>> PostgresStore::answer_to(std::string_view sender,
                                                                   std::string_view control,
                                                                   double oldest) {
  const std::pair key(plain(sender), plain(control));
  if (state_->answers.find(key) == state_->answers.end()) {
    const std::array<MessageId, 1> one = {{{sender, control}}};
    Status asked = expect(one, oldest);
    if (!asked) return asked.error();
  }
  // What was expected may still be on its way.
  Status done = state_->session.flush();
  if (!done) return done.error();
  const std::optional<State::Said>& said = state_->answers[key];
  if (!said || said->at < oldest) return std::optional<KeptAnswer>();
  return std::optional<KeptAnswer>({sender, control, said->digest, said->at, said->answer});
}

Status PostgresStore::add_answer(const KeptAnswer& answer) {
  const std::string sender = plain(answer.sender);
  const std::string control = plain(answer.control);
  state_->answers[{sender, control}] =
      State::Said{std::string(answer.digest), answer.at, std::string(answer.answer)};
  return state_->session.queue(
      {postgres::kAddAnswer,
       {postgres::text(sender), postgres::text(control), postgres::bytes(answer.digest),
        postgres::real(answer.at), postgres::bytes(answer.answer)}});
}

Status PostgresStore::each_answered(const UseAnswered& use) {
  return state_->session.stream({postgres::kAnswered, {}, [&use](const Rows& rows) {
                                   for (int row = 0; row < rows.size(); ++row)
                                     use({rows.text(row, 0), rows.text(row, 1)}, rows.real(row, 2));
                                 }});
}

Status PostgresStore::drop_answers(double oldest) {
  return state_->session.ask({postgres::kDropAnswers, {postgres::real(oldest)}});
}

engine::Result<std::optional<std::int64_t>> PostgresStore::since() {
  std::optional<std::int64_t> day;
  const auto take = [&](const Rows& rows) {
    if (rows.size() > 0) day = rows.number(0, 0);
  };
  const Status asked = state_->session.ask({postgres::kSince, {}, take});
  if (!asked) return asked.error();
  return day;
}

Status PostgresStore::set_since(std::int64_t day) {
  return state_->session.queue({postgres::kSetSince, {postgres::number(day)}});
}

engine::Result<std::uint64_t> PostgresStore::prune(std::int64_t day) {
  std::uint64_t dropped = 0;
  const auto take = [&](const Rows& rows) { dropped = rows.dropped(); };
  Status done = state_->session.begin();
  if (done) done = state_->session.queue({postgres::kPrune, {postgres::number(day)}, take});
  if (done) done = state_->session.queue({postgres::kPruneSince, {postgres::number(day)}});
  if (done) done = state_->session.commit();
  if (done) return dropped;
  roll_back();
  return done.error();
}

engine::Result<StoreSize> PostgresStore::size() {
  StoreSize size;
  const auto take = [&](const Rows& rows) {
    const auto count = [&](int column) {
      return static_cast<std::uint64_t>(rows.number(0, column));
    };
    size = {count(0), count(1), count(2), count(3)};
  };
  const Status asked = state_->session.ask({postgres::kSize, {}, take});
  if (!asked) return asked.error();
  return size;
}

}  // namespace meniscus::adapters
