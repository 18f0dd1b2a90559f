// Order of work for a block: the day of each lane; the rules without history over all lanes; then,
// stretch by stretch, the rules with history, the verdicts, and the lanes' places in history.  A
// stretch ends before a patient comes a second time, so each order is judged on what stood in
// history before it, and still over columns.  What rules do for all orders that say the same is
// remembered (known_orders.hpp), apart for rules with history and without.
#include "engine/eval/checker.hpp"

#include <algorithm>
#include <array>
#include <span>

#include "engine/eval/access.hpp"
#include "engine/eval/columns.hpp"
#include "engine/eval/facts.hpp"
#include "engine/eval/known_orders.hpp"
#include "engine/eval/order_keys.hpp"
#include "engine/eval/rule_run.hpp"
#include "engine/eval/scalar.hpp"
#include "engine/eval/variation.hpp"
#include "engine/eval/verdict_builder.hpp"
#include "engine/order/field_text.hpp"
#include "engine/slips/finder.hpp"

namespace meniscus::engine {

class Checker::Work {
 public:
  Work(std::shared_ptr<const Program> program, const CheckOptions& options)
      : program_(std::move(program)),
        options_(options),
        scalar_(*program_),
        columns_(*program_, scalar_),
        keys_(*program_),
        variation_(*program_, columns_),
        early_known_(*program_, columns_, variation_, options_.never_carries, scratch_),
        late_known_(*program_, columns_, variation_, options_.never_carries, scratch_),
        builder_(*program_, options_),
        slips_(*program_, options_.mode, options_.never_carries, {options_.as_of, options_.today}) {
    for (std::uint32_t i = 0; i < program_->rules.size(); ++i) {
      const bool late = program_->rules[i].history || options_.mode == Mode::OneByOne;
      (late ? late_ : early_).push_back(i);
    }
  }

  void count_concerned() {
    concerned_.assign(program_->rules.size(), 0);
    early_result_.concerned = late_result_.concerned = &concerned_;
  }
  [[nodiscard]] std::span<const Lanes> concerned() const { return concerned_; }

  void set_days(const Days& days) {
    options_.today = days.host;
    options_.as_of = days.as_of;
    slips_.set_days(days);
  }

  void begin(const OrderBlock& block) {
    block_ = &block;
    std::fill(concerned_.begin(), concerned_.end(), 0);
    set_facts(block);
    columns_.begin(block, {facts_.data(), block.size()});
    early_result_.clear();
    if (options_.mode == Mode::OneByOne) return;
    has_keys_ = false;
    variation_.begin(block);
    run_over_columns(early_, judged_, early_known_, early_result_, block);
  }

  void finish(History& history, const Report& report) {
    const OrderBlock& block = *block_;
    fetch_records(block, history);
    for (unsigned first = 0; first < block.size();) {
      const unsigned end = find_records(block, first, history);
      const Lanes stretch = lanes_between(first, end);
      columns_.scalar_moved();  // its lane has records now
      late_result_.clear();
      if (options_.mode == Mode::Columns) {
        variation_.begin(block);
        run_over_columns(late_, judged_ & stretch, late_known_, late_result_, block);
      }
      for (unsigned lane = first; lane < end; ++lane) {
        finish_lane(lane);
        report(verdict_);
      }
      add(block, first, end, history);
      first = end;
    }
  }

  void remember(const OrderBlock& block, History& history) {
    set_facts(block);
    add(block, 0, block.size(), history);
  }

  [[nodiscard]] std::vector<NotAssessed> never_assessed() const {
    std::vector<NotAssessed> result;
    for (const FieldInfo& field : fields()) {
      if (!options_.never_carries.test(index(field.id))) continue;
      NotAssessed line;
      line.missing = field.name;
      for (const Rule& rule : program_->rules) {
        if (!rule.trial && rule.reads.test(index(field.id))) line.rules.emplace_back(rule.name);
      }
      if (!line.rules.empty()) result.push_back(std::move(line));
    }
    return result;
  }

 private:
  void set_facts(const OrderBlock& block) {
    judged_ = 0;
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      facts_[lane] = facts_of(block, lane, {options_.as_of, options_.today});
      if (block.record(lane).kind != RecordKind::Order) continue;
      const Action action = action_of(block, lane);
      if (action == Action::New || action == Action::Change) judged_ |= Lanes{1} << lane;
    }
  }

  void add(const OrderBlock& block, unsigned first, unsigned end, History& history) const {
    for (unsigned lane = first; lane < end; ++lane) {
      if (block.record(lane).kind == RecordKind::Merge) merge(block, lane, history);
      if (block.record(lane).kind != RecordKind::Order) continue;
      history.add(block, lane, event(block, lane));
    }
  }

  static void merge(const OrderBlock& block, unsigned lane, History& history) {
    const Value patient = block.value(lane, FieldId::PatientId);
    if (patient.known()) history.merge(id_hash(block.record(lane).former), patient.aux);
  }

  /// A month or a year alone stands for the last day that it can mean, and none after `today`: what
  /// was given somewhen in February may have been given yesterday.
  static Value last_day_of(const Value& given, const Value& today) {
    const Date date = unpack(given.number, given.aux);
    if (date.precision >= Precision::Day) return given;
    CivilDay last = civil_from_days(date.day());
    if (date.precision == Precision::Year) last.month = 12;
    last.day = last_day_of_month(last.year, last.month);
    const std::int64_t end = days_from_civil(last);
    const std::int64_t now = unpack(today.number, today.aux).day();
    Value day = given;
    day.number = 86400.0 * static_cast<double>(now >= date.day() && now < end ? now : end);
    return day;
  }

  /// When the lane happens, for history: given, the planned day, or the day of the message.
  [[nodiscard]] Value event(const OrderBlock& block, unsigned lane) const {
    const Action action = action_of(block, lane);
    if (action == Action::Given) {
      const Value given = block.value(lane, FieldId::OrderGiven);
      return given.known() ? last_day_of(given, facts_.at(lane).today)
                           : facts_.at(lane).planned_day;
    }
    const bool ends = action == Action::Stop || action == Action::Cancel;
    return ends ? facts_.at(lane).today : facts_.at(lane).planned_day;
  }

  void run_over_columns(const std::vector<std::uint32_t>& rules, Lanes lanes, KnownOrders& known,
                        RunResult& result, const OrderBlock& block) {
    if (lanes == 0) return;
    ColumnAccess access{*program_, columns_, &block};
    RuleRun<ColumnAccess> run(*program_, access, options_.never_carries, scratch_, result);
    known.begin(block, lanes, rules, [&](unsigned lane) { return key_of(lane); });
    for (const std::uint32_t rule : rules) {
      if (const Lanes open = known.to_run(rule, result); open != 0) run.run(rule, open);
      known.add_known(rule, result);
    }
    known.learn(result);
  }

  /// An order of a patient without records is another one than that of a patient with some.
  OrderKey key_of(unsigned lane) {
    if (!has_keys_) keys_.begin(*block_, judged_);
    has_keys_ = true;
    OrderKey key = keys_.of(lane);
    const OrderFacts& facts = facts_.at(lane);
    const bool none = facts.records == nullptr || facts.records->empty();
    key.mix((none ? 1U : 0U) | (facts.since == History::kAlways ? 2U : 0U));
    return key;
  }

  static Lanes lanes_between(unsigned first, unsigned end) {
    const Lanes below_end = end == kLanes ? ~Lanes{0} : (Lanes{1} << end) - 1;
    return below_end & ~((Lanes{1} << first) - 1);
  }

  /// Asks for the memory of the newest records of all lanes before the first is needed.  With many
  /// patients nearly every record is far away.
  static void fetch_records(const OrderBlock& block, const History& history) {
    constexpr std::size_t kNewest = 8;
    constexpr std::size_t kLine = 64;  // bytes that come at once
    const OrderBlock::Column& patients = block.column(FieldId::PatientId);
    each_lane(patients.known, [&](unsigned lane) {
      const History::Records& records = history.of(patients.aux[lane]);
      const std::size_t newest = std::min(records.size(), kNewest) * sizeof(HistoryRecord);
      const char* const end = reinterpret_cast<const char*>(records.end());  // NOLINT(*-cast)
      for (std::size_t back = 0; back < newest; back += kLine)
        __builtin_prefetch(end - newest + back);
    });
  }

  /// Sets the records of the lanes from `first` on, and gives back where the stretch ends: at the
  /// block's end, or before the second lane of a patient.
  unsigned find_records(const OrderBlock& block, unsigned first, const History& history) {
    const OrderBlock::Column& patients = block.column(FieldId::PatientId);
    const bool one_by_one = options_.mode == Mode::OneByOne;
    some_seen_ = {};
    unsigned lane = first;
    for (; lane < block.size(); ++lane) {
      const bool known = (patients.known >> lane & 1U) != 0;
      if (lane > first && one_by_one) break;
      persons_.at(lane) = known ? history.standing(patients.aux[lane]) : kNoWord;
      if (known && seen_before(first, lane)) break;
      // What is merged is found under one id by the lanes after it.
      if (lane > first && block.record(lane - 1).kind == RecordKind::Merge) break;
      facts_.at(lane).records = known ? &history.of(patients.aux[lane]) : nullptr;
      facts_.at(lane).since = history.since();
      facts_.at(lane).turn = ++turns_;
    }
    return lane;
  }

  /// Is the patient of `lane` that of a lane between `first` and it?  Where the patient's bit is
  /// not set in `some_seen_` it is not, which spares most searches.
  bool seen_before(unsigned first, unsigned lane) {
    const Word person = persons_.at(lane);
    std::uint64_t& seen = some_seen_.at(person >> 6U & (some_seen_.size() - 1));
    const std::uint64_t bit = std::uint64_t{1} << (person & 63U);
    const bool maybe = (seen & bit) != 0;
    seen |= bit;
    const auto* const begin = persons_.begin() + first;
    const auto* const end = persons_.begin() + lane;
    return maybe && std::find(begin, end, person) != end;
  }

  /// The verdict of one lane; in the mode one by one, its rules too.
  void finish_lane(unsigned lane) {
    const Lanes bit = Lanes{1} << lane;
    const bool judged = (judged_ & bit) != 0;
    scalar_.begin(facts_.at(lane));
    columns_.scalar_stands_at(lane);
    if (judged && options_.mode == Mode::OneByOne) {
      LaneAccess access{*program_, scalar_};
      RuleRun<LaneAccess> run(*program_, access, options_.never_carries, scratch_, late_result_);
      for (const std::uint32_t rule : late_)
        run.run(rule, bit);
    }
    Columns* const columns = options_.mode == Mode::Columns ? &columns_ : nullptr;
    builder_.build(scalar_, columns, {&early_result_, &late_result_}, judged, verdict_);
    const bool grave = verdict_.outcome == Outcome::Clarify || verdict_.outcome == Outcome::Hold;
    if (judged && grave && options_.slips) {
      slips_.find(scalar_, {&early_result_, &late_result_}, verdict_);
    }
  }

  std::shared_ptr<const Program> program_;
  CheckOptions options_;
  Scalar scalar_;
  Columns columns_;
  const OrderBlock* block_ = nullptr;  // that was begun
  OrderKeys keys_;
  bool has_keys_ = false;  // of the block
  Variation variation_;
  RunScratch scratch_;
  KnownOrders early_known_;
  KnownOrders late_known_;
  VerdictBuilder builder_;
  SlipFinder slips_;
  std::vector<std::uint32_t> early_;  // rules without history
  std::vector<std::uint32_t> late_;   // rules with history; one by one, all
  std::array<OrderFacts, kLanes> facts_;
  std::array<Word, kLanes> persons_{};        // by lane of the stretch, whose records those are
  std::array<std::uint64_t, 8> some_seen_{};  // a bit for each of them, of their hashes
  Lanes judged_ = 0;
  std::uint64_t turns_ = 0;
  RunResult early_result_;
  RunResult late_result_;
  std::vector<Lanes> concerned_;  // by rule; empty: nobody counts
  Verdict verdict_;
};

Checker::Checker(std::shared_ptr<const Program> program, const CheckOptions& options)
    : work_(std::make_unique<Work>(std::move(program), options)) {}
Checker::~Checker() = default;
Checker::Checker(Checker&&) noexcept = default;
Checker& Checker::operator=(Checker&&) noexcept = default;

void Checker::set_days(const Days& days) { work_->set_days(days); }

void Checker::check(const OrderBlock& block, History& history, const Report& report) {
  work_->begin(block);
  work_->finish(history, report);
}

void Checker::begin(const OrderBlock& block) { work_->begin(block); }

void Checker::finish(History& history, const Report& report) { work_->finish(history, report); }

void Checker::count_concerned() { work_->count_concerned(); }

std::span<const Lanes> Checker::concerned() const { return work_->concerned(); }

void Checker::remember(const OrderBlock& block, History& history) {
  work_->remember(block, history);
}

std::vector<NotAssessed> Checker::never_assessed() const { return work_->never_assessed(); }

}  // namespace meniscus::engine
