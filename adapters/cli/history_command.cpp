// Contract: see history_command.hpp.
#include "adapters/cli/history_command.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/inputs.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/progress.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/history/kept_history.hpp"
#include "adapters/json/json_merge.hpp"
#include "engine/history/history.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {

constexpr std::string_view kSqlite = "sqlite:";
constexpr std::int64_t kMargin = 31;  // days that stay beyond what the rules look back on

/// A store that is there already.  None, and said: it is not, or it cannot be opened.
std::unique_ptr<OrderStore> open_existing(const std::string& place, const Console& console) {
  const bool file = place.starts_with(kSqlite);
  if (file && !std::filesystem::exists(place.substr(kSqlite.size()))) {
    console.complain("there is no history at " + place.substr(kSqlite.size()));
    return nullptr;
  }
  auto store = open_store(place);
  if (store) return std::move(*store);
  console.complain(store.error().message);
  return nullptr;
}

ExitStatus failed(const engine::Error& error, const Console& console) {
  console.complain(error.message);
  return ExitStatus::Internal;
}

std::string whole_since(const std::optional<std::int64_t>& since) {
  return since ? "whole since " + engine::format_day(*since) : "empty";
}

/// The id that a patient's orders stand under.
engine::Result<std::string> standing_id(OrderStore& store, std::string patient) {
  const engine::Status read = store.each_merge([&](std::string_view former, std::string_view now) {
    if (former == patient) patient = now;
  });
  if (!read) return read.error();
  return patient;
}

/// There is an order or a merge of the patient, named by the id that it has now.
engine::Result<bool> is_known(OrderStore& store, const std::string& patient) {
  bool known = false;
  engine::Status read = store.each(patient, [&](const KeptOrder&) { known = true; });
  if (read && !known) {
    read = store.each_merge(
        [&](std::string_view, std::string_view now) { known = known || now == patient; });
  }
  if (!read) return read.error();
  return known;
}

std::string no_patient(const Arguments& arguments, const std::string& patient) {
  return arguments.files.front() + " holds nothing of a patient `" + patient + "`";
}

/// Says which of two patients, by the ids that they have now, the store does not know; gives the
/// number of those that it knows.  One may be new; with none, an id is written wrong.
engine::Result<int> say_unknown(OrderStore& store, const std::array<std::string, 2>& both,
                                const Arguments& arguments, const Console& console) {
  int count = 0;
  for (std::size_t i = 0; i < both.size(); ++i) {
    const auto known = is_known(store, both[i]);
    if (!known) return known.error();
    if (!*known) console.complain(no_patient(arguments, arguments.files[i + 1]));
    count += *known ? 1 : 0;
  }
  if (count == 0) console.complain("nothing was merged");
  return count;
}

/// The line of an order, under the id that its patient has now.
std::string exported(const StoredOrder& order) {
  auto json = nlohmann::ordered_json::parse(order.text, nullptr, false);
  if (!json.is_object() || json.value("patient.id", "") == order.patient)
    return std::string(order.text);
  json["patient.id"] = order.patient;
  return json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// Says the ids that are another patient's now; of one patient where `patient` is not empty.
engine::Status say_merges(OrderStore& store, std::string_view patient, const Console& console) {
  return store.each_merge([&](std::string_view former, std::string_view now) {
    if (patient.empty() || now == patient) console.say(merge_line(former, now) + "\n");
  });
}

engine::Status say_orders(OrderStore& store, std::string_view patient, const Console& console) {
  return store.each(patient,
                    [&](const KeptOrder& kept) { console.say(exported(kept.order) + "\n"); });
}

/// Orders of files into a store.
class Import {
 public:
  Import(const Arguments& arguments, const Console& console,
         std::shared_ptr<const engine::Program> program, engine::Feed feed)
      : arguments_(arguments),
        console_(console),
        program_(std::move(program)),
        feed_(std::move(feed)),
        history_(program_->look_back, program_->history_fields, program_->history_written),
        progress_(console) {}

  ExitStatus run() {
    auto store = open_store(arguments_.files.front());
    if (!store) {
      console_.complain(store.error().message);
      return ExitStatus::Usage;
    }
    OrderStore& kept_in = **store;
    const auto since = kept_in.since();
    if (!since) return failed(since.error(), console_);
    KeptHistory kept(std::move(*store));
    const engine::Status loaded = kept.load(program_, console_.today, history_);
    if (!loaded) return failed(loaded.error(), console_);
    for (std::uint32_t file = 1; file < arguments_.files.size(); ++file) {
      const engine::Status done = take(arguments_.files[file], file - 1, kept);
      if (!done) return failed(done.error(), console_);
    }
    const engine::Status said = say_since(kept_in, *since);
    if (!said) return failed(said.error(), console_);
    return status_;
  }

 private:
  engine::Status take(const std::string& name, std::uint32_t file, KeptHistory& kept) {
    auto input = open_input(name, arguments_.from, file, {program_.get(), &feed_});
    if (!input) {
      console_.complain(input.error().message);
      status_ = worst(status_, ExitStatus::Unread);
      return engine::Done{};
    }
    while (input->source->next(block_)) {
      engine::Status done = kept.keep(block_, {std::nullopt, console_.today}, history_);
      if (!done) return done;
      for (unsigned lane = 0; lane < block_.size(); ++lane)
        count(lane);
      before_ += kept.kept_before().size();
      progress_.add(block_.size());
    }
    return engine::Done{};
  }

  void count(unsigned lane) {
    using engine::RecordKind;
    const RecordKind kind = block_.record(lane).kind;
    if (kind == RecordKind::Unreadable) {
      ++unreadable_;
      status_ = worst(status_, ExitStatus::Unread);
    }
    const bool has_patient = block_.value(lane, engine::FieldId::PatientId).known();
    if (kind == RecordKind::Outside) ++outside_;
    if (kind == RecordKind::Order && !has_patient) ++unowned_;
    if (kind == RecordKind::Merge && has_patient) ++merges_;
    if (kind != RecordKind::Order || !has_patient) return;
    ++taken_;
    const engine::Days days{std::nullopt, console_.today};
    const auto day = static_cast<std::int64_t>(
        std::floor(engine::facts_of(block_, lane, days).today.number / 86400.0));
    first_ = first_ ? std::min(*first_, day) : day;
  }

  /// An empty store is whole from the first day that was imported; another one from where it was.
  /// By the user's word it may be longer.
  engine::Status say_since(OrderStore& store, const std::optional<std::int64_t>& before) {
    std::optional<std::int64_t> since = before ? before : first_;
    if (arguments_.history_since && since) since = std::min(*since, *arguments_.history_since);
    if (since && since != before) {
      engine::Status set = store.begin({});
      if (set) set = store.set_since(*since);
      if (set) set = store.commit();
      if (!set) return set;
    }
    console_.say(summary() + "; the history is " + whole_since(since) + "\n");
    const bool earlier = first_ && before && since && *first_ < *since;
    if (earlier) {
      console_.complain("orders of days before " + engine::format_day(*since) +
                        " are kept, but rules take the history for whole only since that day; if "
                        "nothing is missing, say so with --history-since " +
                        engine::format_day(*first_));
    }
    return engine::Done{};
  }

  /// What was kept, and of what was not, why.
  [[nodiscard]] std::string summary() const {
    std::string text = counted(taken_ - before_, "order") + " imported";
    const auto add = [&](std::size_t count, std::string_view what) {
      if (count > 0) text.append(", ").append(std::to_string(count)).append(what);
    };
    if (merges_ > 0) text += ", " + counted(merges_, "merged id");
    add(before_, before_ == 1 ? " was there already" : " were there already");
    add(outside_, outside_ == 1 ? " is no injection" : " are no injections");
    add(unowned_, unowned_ == 1 ? " names no patient" : " name no patient");
    add(unreadable_, " could not be read");
    return text;
  }

  const Arguments& arguments_;
  const Console& console_;
  std::shared_ptr<const engine::Program> program_;
  engine::Feed feed_;
  engine::History history_;
  engine::OrderBlock block_;
  Progress progress_;
  std::size_t taken_ = 0;   // orders of a patient; with those that were kept before
  std::size_t before_ = 0;  // of them
  std::size_t merges_ = 0;
  std::size_t outside_ = 0;
  std::size_t unowned_ = 0;
  std::size_t unreadable_ = 0;
  std::optional<std::int64_t> first_;
  ExitStatus status_ = ExitStatus::Clean;
};

/// The ids that are this patient's too, and the orders.  A patient that the store does not know is
/// said: a wrong id is no empty history.
ExitStatus list_patient(OrderStore& store, const std::string& patient, const Arguments& arguments,
                        const Console& console) {
  const auto known = is_known(store, patient);
  if (!known) return failed(known.error(), console);
  if (!*known) {
    console.complain(no_patient(arguments, arguments.patient));
    return ExitStatus::Usage;
  }
  engine::Status read = say_merges(store, patient, console);
  if (read) read = say_orders(store, patient, console);
  return read ? ExitStatus::Clean : failed(read.error(), console);
}

/// The first day that stays.  None, and said: the rules cannot be loaded.
std::optional<std::int64_t> first_day_kept(const Arguments& arguments, const Console& console) {
  if (arguments.before) return arguments.before;
  if (arguments.keep) return console.today - static_cast<std::int64_t>(*arguments.keep);
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return std::nullopt;
  const auto days = static_cast<std::int64_t>(std::ceil(program->look_back / 86400.0));
  return console.today - days - kMargin;
}

}  // namespace

ExitStatus run_history_list(const Arguments& arguments, const Console& console) {
  const auto store = open_existing(arguments.files.front(), console);
  if (store == nullptr) return ExitStatus::Usage;
  if (!arguments.patient.empty()) {
    const auto patient = standing_id(*store, arguments.patient);
    if (!patient) return failed(patient.error(), console);
    return list_patient(*store, *patient, arguments, console);
  }
  const auto size = store->size();
  if (!size) return failed(size.error(), console);
  const auto since = store->since();
  if (!since) return failed(since.error(), console);
  console.say(arguments.files.front() + ": " + counted(size->orders, "order") + " of " +
              counted(size->patients, "patient") + ", " + whole_since(*since) + "; " +
              counted(size->answers, "answer") + " kept; " + counted(size->merges, "merged id") +
              "\n");
  return ExitStatus::Clean;
}

ExitStatus run_history_export(const Arguments& arguments, const Console& console) {
  const auto store = open_existing(arguments.files.front(), console);
  if (store == nullptr) return ExitStatus::Usage;
  // First the merges, so that who reads it in its sequence knows every order's patient.
  engine::Status read = say_merges(*store, {}, console);
  if (read) read = say_orders(*store, {}, console);
  return read ? ExitStatus::Clean : failed(read.error(), console);
}

ExitStatus run_history_import(const Arguments& arguments, const Console& console) {
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  return Import(arguments, console, std::move(program), std::move(*feed)).run();
}

ExitStatus run_history_merge(const Arguments& arguments, const Console& console) {
  const auto store = open_existing(arguments.files.front(), console);
  if (store == nullptr) return ExitStatus::Usage;
  const auto former = standing_id(*store, arguments.files[1]);
  if (!former) return failed(former.error(), console);
  const auto patient = standing_id(*store, arguments.files[2]);
  if (!patient) return failed(patient.error(), console);
  if (*former == *patient) {
    console.say("they are one patient already: the orders stand under " + *patient + "\n");
    return ExitStatus::Clean;
  }
  const auto known = say_unknown(*store, {*former, *patient}, arguments, console);
  if (!known) return failed(known.error(), console);
  if (*known == 0) return ExitStatus::Usage;
  const std::array<std::string_view, 2> both = {*former, *patient};
  engine::Status done = store->begin(both);
  if (done) done = store->merge(*former, *patient);
  if (done) {
    done = store->commit();
  } else {
    store->roll_back();
  }
  if (!done) return failed(done.error(), console);
  console.say("the orders of " + *former + " stand under " + *patient + " now\n");
  return ExitStatus::Clean;
}

ExitStatus run_history_prune(const Arguments& arguments, const Console& console) {
  const auto store = open_existing(arguments.files.front(), console);
  if (store == nullptr) return ExitStatus::Usage;
  const auto day = first_day_kept(arguments, console);
  if (!day) return ExitStatus::Usage;
  const auto dropped = store->prune(*day);
  if (!dropped) return failed(dropped.error(), console);
  const auto since = store->since();
  if (!since) return failed(since.error(), console);
  console.say(counted(*dropped, "order") + " of days before " + engine::format_day(*day) +
              " dropped; the history is " + whole_since(*since) + "\n");
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
