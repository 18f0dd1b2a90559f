// Contract: see kept_history.hpp.
#include "adapters/history/kept_history.hpp"

#include <utility>

#include "adapters/history/stored_order.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/support/view_bytes.hpp"
#include "engine/eval/checker.hpp"
#include "engine/order/feed.hpp"

namespace meniscus::adapters {

using engine::FieldId;
using engine::OrderBlock;

namespace {

constexpr std::string_view kSqlite = "sqlite:";
constexpr std::size_t kPiece = std::size_t{256} << 10U;

std::int64_t day_of(const OrderBlock& block, unsigned lane, const engine::Days& days) {
  return static_cast<std::int64_t>(engine::facts_of(block, lane, days).today.number / 86400.0);
}

bool is_remembered(const OrderBlock& block, unsigned lane) {
  return block.record(lane).kind == engine::RecordKind::Order &&
         block.value(lane, FieldId::PatientId).known();
}

/// The same order of the same patient stands further up in the block.
bool stands_before(const OrderBlock& block, unsigned lane) {
  for (unsigned other = 0; other < lane; ++other) {
    const auto same = [&](FieldId field) {
      return block.value(other, field).aux == block.value(lane, field).aux;
    };
    if (is_remembered(block, other) && same(FieldId::PatientId) && same(FieldId::OrderId) &&
        same(FieldId::OrderFiller))
      return true;
  }
  return false;
}

}  // namespace

void begin_history(const OrderBlock& block, const engine::Days& days, engine::History& history) {
  for (unsigned lane = 0; lane < block.size(); ++lane) {
    if (history.since() != engine::History::kAlways) return;
    if (!is_remembered(block, lane)) continue;
    history.set_since(static_cast<double>(day_of(block, lane, days)) * 86400.0);
  }
}

void know_since(std::optional<std::int64_t> day, engine::History& history) {
  if (!day) return;
  const double since = static_cast<double>(*day) * 86400.0;
  if (history.since() == engine::History::kAlways || since < history.since())
    history.set_since(since);
}

engine::Result<std::unique_ptr<KeptHistory>> KeptHistory::open(const std::string& place) {
  if (!place.starts_with(kSqlite) || place.size() == kSqlite.size()) {
    return engine::Error{engine::Errc::Usage,
                         "`" + place + "` is no history; write --history sqlite:PATH"};
  }
  auto store = SqliteStore::open(place.substr(kSqlite.size()));
  if (!store) return store.error();
  return std::unique_ptr<KeptHistory>(new KeptHistory(std::move(*store)));
}

engine::Status KeptHistory::load(const std::shared_ptr<const engine::Program>& program,
                                 std::int64_t today, engine::History& history) {
  const auto since = store_->since();
  if (!since) return since.error();
  know_since(*since, history);

  const engine::Feed feed;
  engine::CheckOptions options;
  options.today = today;
  engine::Checker checker(program, options);
  OrderBlock block;
  const auto remember = [&] {
    const auto source = make_json_source({"history", std::make_unique<ViewBytes>(text_), 0},
                                         {program.get(), &feed});
    while (source->next(block))
      checker.remember(block, history);
    text_.clear();
  };
  text_.clear();
  engine::Status read = store_->each([&](std::string_view line) {
    text_.append(line).append("\n");
    if (text_.size() >= kPiece) remember();
  });
  if (read) remember();
  return read;
}

engine::Status KeptHistory::keep(const OrderBlock& block, const engine::Days& days,
                                 engine::History& history) {
  again_.clear();
  for (unsigned lane = 0; lane < block.size(); ++lane) {
    if (!is_remembered(block, lane)) continue;
    const std::int64_t day = day_of(block, lane, days);
    text_.clear();
    append_stored_order(text_, block, lane, day);
    const engine::Result<bool> added =
        store_->add({block.value(lane, FieldId::PatientId).text,
                     block.value(lane, FieldId::OrderId).text, day, text_});
    if (!added) {
      store_->roll_back();
      return added.error();
    }
    if (!*added) again_.push_back(lane);
  }
  engine::Status kept = store_->commit();
  if (!kept) return kept;
  begin_history(block, days, history);
  // What stands twice in one block was not judged twice before.
  for (const unsigned lane : again_)
    if (!stands_before(block, lane)) history.set_aside(block, lane);
  return kept;
}

}  // namespace meniscus::adapters
