// Fills the block of trial orders (contract: trial.hpp).
#include "engine/slips/trial.hpp"

#include <algorithm>

#include "engine/eval/lanes.hpp"
#include "engine/order/complete_text.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::engine::slips {
namespace {

using F = FieldId;

/// Fields that fix the day of an order or an age.
constexpr std::array kDayFields = {F::OrderPlaced, F::OrderGiven, F::ScheduleStart};

}  // namespace

Trial::Trial(const Dependence& dependence, const Days& days) : days_(days) {
  for (const FieldInfo& field : fields()) {
    const bool day =
        std::find(kDayFields.begin(), kDayFields.end(), field.id) != kDayFields.end() ||
        field.id == F::PatientBorn;
    if (day || dependence.any.test(index(field.id))) copied_.push_back(field.id);
  }
}

void Trial::fill(const OrderFacts& order, std::span<const Candidate> candidates,
                 const FieldSet& first) {
  block_.clear();
  first_ = first;
  for (const F field : kDayFields)
    first_.set(index(field));
  first_.set(index(F::PatientBorn));
  changed_.fill(0);
  const auto count = static_cast<unsigned>(std::min<std::size_t>(candidates.size(), kLanes));
  for (unsigned lane = 0; lane < count; ++lane) {
    block_.add_lane();
    for (const Change& change : candidates[lane].all())
      changed_[index(change.field)] |= Lanes{1} << lane;
  }
  Lanes days = 0;
  for (const F field : kDayFields)
    days |= changed(field);
  const OrderBlock& source = *order.block;
  const bool derived_age = source.value(order.lane, F::PatientAge).known() &&
                           source.written(order.lane, F::PatientAge).empty();
  aged_ = derived_age ? days | changed(F::PatientBorn) : 0;
  copy_fields(order, true, block_.lanes());
  const Value message = source.message_date(order.lane);
  for (unsigned lane = 0; lane < count; ++lane) {
    if (message.known()) block_.set_message_date(lane, unpack(message.number, message.aux));
    change(lane, candidates[lane], order);
    facts_[lane] = order;
    facts_[lane].turn = 0;  // they are about to be others than the order's
    facts_[lane].block = &block_;
    facts_[lane].lane = lane;
  }
  each_lane(aged_, [&](unsigned lane) { derive_age(block_, lane); });
  changed_[index(F::PatientAge)] |= aged_;
  each_lane(days, [&](unsigned lane) { set_day(lane, order); });
}

void Trial::complete(const OrderFacts& order, Lanes lanes) { copy_fields(order, false, lanes); }

void Trial::copy_fields(const OrderFacts& order, bool first, Lanes lanes) {
  for (const F field : copied_) {
    if (first_.test(index(field)) != first) continue;
    const Lanes own = field == F::PatientAge ? aged_ : changed(field);
    copy_field(order, field, lanes & ~own);
  }
}

void Trial::copy_field(const OrderFacts& order, FieldId field, Lanes lanes) {
  const OrderBlock& source = *order.block;
  Value value = source.value(order.lane, field);
  if (value.state == State::Missing || lanes == 0) return;
  if (value.known() && is_list(info(field).kind)) {
    const ListItem* first = source.items(value.aux);
    items_.assign(first, first + OrderBlock::item_count(value.aux));
    value.aux = block_.add_items(items_);
  }
  const std::string_view written = source.written(order.lane, field);
  const bool from_text = source.from_text(order.lane, field);
  each_lane(lanes, [&](unsigned lane) { block_.set(lane, field, value, written, {}, from_text); });
}

void Trial::change(unsigned lane, const Candidate& candidate, const OrderFacts& order) {
  for (const Change& change : candidate.all()) {
    block_.set(lane, change.field, change.value, order.block->written(order.lane, change.field),
               {});
  }
}

void Trial::write_text(unsigned lane, const Candidate& candidate) {
  std::string_view unit = candidate.unit;
  for (const Change& change : candidate.all()) {
    const std::string_view like = block_.written(lane, change.field);
    write_value(change.field, change.value, like, unit, text_);
    block_.set(lane, change.field, change.value, block_.keep(text_), {});
    unit = {};
  }
}

void Trial::set_day(unsigned lane, const OrderFacts& order) {
  const OrderFacts day = facts_of(block_, lane, days_);
  facts_[lane] = day;
  facts_[lane].records = order.records;
  facts_[lane].since = order.since;
  facts_[lane].id = order.id;
  facts_[lane].filler = order.filler;
}

}  // namespace meniscus::engine::slips
