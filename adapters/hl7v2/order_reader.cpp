// From a message to lanes: what kind it is, which orders it holds, and the fields that ORC and MSH
// carry; the other fields are read in patient.cpp, route.cpp, timing.cpp and medicine.cpp.
#include "adapters/hl7v2/order_reader.hpp"

#include <algorithm>
#include <array>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::RecordKind;

constexpr std::array<std::string_view, 8> kOrderKinds = {"RDE", "OMP", "ORM", "RAS",
                                                         "VXU", "RDS", "RGV", "PPR"};
constexpr std::array<std::string_view, 12> kAnswerKinds = {
    "ACK", "MCF", "ORP", "ORR", "RRE", "RRD", "RRG", "RRA", "VXX", "VXR", "RSP", "PRR"};

bool is_detail(std::string_view name) {
  return name == "RXO" || name == "RXE" || name == "RXG" || name == "RXD" || name == "RXA";
}

/// Of kinds, which are three letters: byte by byte, as a call for three of them costs more.
template <std::size_t N>
bool is_one_of(const std::array<std::string_view, N>& kinds, std::string_view kind) {
  return kind.size() == 3 && std::ranges::any_of(kinds, [kind](std::string_view one) {
           return one[0] == kind[0] && one[1] == kind[1] && one[2] == kind[2];
         });
}

int* slot(OrderPlan& plan, std::string_view name) {
  if (name == "RXO") return &plan.rxo;
  if (name == "RXE") return &plan.rxe;
  if (name == "RXG") return &plan.rxg;
  if (name == "RXD") return &plan.rxd;
  return name == "RXA" ? &plan.rxa : nullptr;
}

/// A second detail of the same kind (or a request after an encoded order) begins a further order.
bool begins_another(OrderPlan& plan, std::string_view name) {
  if (name == "RXO" && (plan.rxe >= 0 || plan.rxd >= 0 || plan.rxg >= 0)) return true;
  if (name == "RXA") return false;  // add_group() gives each its own
  const int* taken = slot(plan, name);
  return taken != nullptr && *taken >= 0;
}

bool is_empty(const OrderPlan& plan) { return plan.orc < 0 && plan.detail() < 0; }

/// Adds the orders of one ORC: one for each RXA, else one.
void add_group(const OrderPlan& plan, const std::vector<int>& given,
               std::vector<OrderPlan>& plans) {
  if (is_empty(plan) && given.empty()) return;
  if (given.empty()) plans.push_back(plan);
  for (const int rxa : given) {
    plans.push_back(plan);
    plans.back().rxa = rxa;
  }
}

std::string_view kind_of(const Message& m) {
  const Segment* msh = m.find("MSH");
  return msh == nullptr ? std::string_view{} : trim(m.first(m.field(*msh, 9), 1));
}

/// 2.1 to 2.9 and what is left out.
bool is_version_two(std::string_view version) { return version.empty() || version[0] == '2'; }

/// Some other order of the message takes the place of those that it names as replaced.
bool has_replacement(const Message& m) {
  return std::ranges::any_of(m.segments(), [&](const Segment& s) {
    return s.name == "ORC" && trim(m.first(m.field(s, 1), 1)) == "RO";
  });
}

void read_control(const Lane& lane, const Segment& orc) {
  const Message& m = lane.message;
  const std::string_view code = trim(m.first(m.field(orc, 1), 1));
  const std::string_view status = trim(m.first(m.field(orc, 5), 1));
  const auto control = order_control(code);
  const auto by_status = order_status(status);
  std::string_view action = control ? control->action : std::string_view{};
  if (!code.empty() && !control && !is_null(code))
    lane.doubt(FieldId::OrderAction, "`" + std::string(code) + "` is no order control code", code);
  std::string_view action_from = code;
  // A status change, or an order that only carries results, says by its status what happened.
  const bool by_report = code.empty() || code == "SC" || code == "RE" || code == "SR";
  if (by_report && by_status && !by_status->action.empty()) {
    action = by_status->action;
    action_from = status;
  }
  // Chapter 4: orders that are replaced are treated as though they were cancelled (from memory).
  const bool replaced = code == "RP" || code == "RU" || code == "RQ";
  if (replaced && has_replacement(m)) action = "cancel";
  if (!action.empty()) lane.set_as(FieldId::OrderAction, action, action_from);
  if (control && !control->status.empty()) {
    lane.set_as(FieldId::OrderStatus, control->status, code);
  } else if (by_status && !by_status->status.empty()) {
    lane.set_as(FieldId::OrderStatus, by_status->status, status);
  } else if (lane.knows(FieldId::OrderStatus, status)) {
    lane.set(FieldId::OrderStatus, status);
  }
}

const Segment* segment_of(const Message& m, int index) {
  return index < 0 ? nullptr : &m.segments()[static_cast<std::size_t>(index)];
}

void read_identity(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  const Segment* orc = segment_of(m, plan.orc);
  const Segment* rxe = segment_of(m, plan.rxe);
  if (orc != nullptr) {
    lane.set(FieldId::OrderId, m.first(m.field(*orc, 2), 1));
    lane.set(FieldId::OrderFiller, m.first(m.field(*orc, 3), 1));
    lane.set(FieldId::OrderPrescriber, m.first(m.field(*orc, 12), 1));
    // Something to name the order by.
    if (!lane.is_known(FieldId::OrderId)) lane.set(FieldId::OrderId, m.first(m.field(*orc, 3), 1));
    read_control(lane, *orc);
  }
  if (rxe != nullptr && !lane.is_known(FieldId::OrderId))
    lane.set(FieldId::OrderId, m.first(m.field(*rxe, 15), 1));
  if (rxe != nullptr) lane.set_date(FieldId::OrderPlaced, m.first(m.field(*rxe, 32), 1));
  for (const unsigned number : {9U, 15U})
    if (orc != nullptr && !lane.is_present(FieldId::OrderPlaced))
      lane.set_date(FieldId::OrderPlaced, m.first(m.field(*orc, number), 1));
}

/// An injection that was given; the reason when it was not.
std::string read_given(const Lane& lane, const Segment& rxa, std::string_view& at) {
  const Message& m = lane.message;
  const std::string_view status = trim(m.first(m.field(rxa, 20), 1));
  const std::string_view code = trim(m.first(m.field(rxa, 5), 1));
  const engine::Value action = lane.block.value(lane.lane, FieldId::OrderAction);
  if (!action.known() || (action.text != "cancel" && action.text != "stop"))
    lane.set_as(FieldId::OrderAction, "given", m.field(rxa, 3));
  lane.set_date(FieldId::OrderGiven, m.first(m.field(rxa, 3), 1));
  if (lane.is_known(FieldId::OrderId))
    lane.block.set(lane.lane, FieldId::OrderFulfils, lane.block.value(lane.lane, FieldId::OrderId),
                   lane.block.written(lane.lane, FieldId::OrderId),
                   lane.block.origin(lane.lane, FieldId::OrderId));
  at = status;
  if (status == "RE") return "the injection was refused (RXA-20 RE): not given";
  if (status == "NA") return "the injection was not administered (RXA-20 NA)";
  at = m.field(rxa, 21);
  if (trim(at) == "D") return "the record of the injection was deleted (RXA-21 D)";
  at = code;
  // CVX 998: "no vaccine administered".
  if (code == "998") return "no vaccine was given (RXA-5 998)";
  return {};
}

/// Where an end of segment was lost, the text at the seam may be incomplete.
void say_glued(const Lane& lane, const OrderPlan& plan) {
  const auto& segments = lane.message.segments();
  for (std::size_t i = 0; i < segments.size(); ++i) {
    const int at = static_cast<int>(i);
    if (!segments[i].glued || at < plan.begin || at >= plan.end) continue;
    lane.doubt(FieldId::OrderDirections,
               "segment " + std::string(segments[i].name) +
                   " begins inside the one before it: a segment end was lost",
               segments[i].name);
    return;
  }
}

/// What is given, how and when; false, and the record says why, when that is no injection order.
bool read_body(const Lane& lane, const OrderPlan& plan, const Segment& where) {
  engine::RecordInfo& record = lane.block.record(lane.lane);
  std::string_view place;
  std::string reason;
  if (plan.rxa >= 0) reason = read_given(lane, where, place);
  if (reason.empty()) reason = read_route(lane, plan, place);
  if (plan.detail() < 0) {
    const engine::Value action = lane.block.value(lane.lane, FieldId::OrderAction);
    const bool ends = action.known() && (action.text == "cancel" || action.text == "stop");
    if (!ends) {
      record.kind = RecordKind::Unreadable;
      record.reason = "the order names no medicine (no RXO, RXE, RXD, RXG or RXA after its ORC)";
      return false;
    }
  }
  if (!reason.empty()) {
    read_substance(lane, plan);
    record.kind = RecordKind::Outside;
    record.reason = std::move(reason);
    if (!place.empty()) record.reason_origin = lane.origin(place);
    return false;
  }
  if (plan.detail() >= 0) read_medicine(lane, plan);
  if (plan.rxa < 0) read_timing(lane, plan);
  return true;
}

}  // namespace

int OrderPlan::detail() const {
  for (const int index : {rxa, rxg, rxe, rxo, rxd})
    if (index >= 0) return index;
  return -1;
}

void plan_orders(const Message& message, std::vector<OrderPlan>& plans) {
  plans.clear();
  const auto& segments = message.segments();
  OrderPlan plan;
  std::vector<int> given;
  const auto close = [&](int end) {
    plan.end = end;
    const std::size_t before = plans.size();
    add_group(plan, given, plans);
    for (std::size_t i = before; i < plans.size(); ++i)
      plans[i].end = end;
    given.clear();
  };
  for (std::size_t i = 0; i < segments.size(); ++i) {
    const std::string_view name = segments[i].name;
    const int at = static_cast<int>(i);
    if (name == "ORC") {
      close(at);
      plan = OrderPlan{};
      plan.orc = at;
      plan.begin = at;
    } else if (is_detail(name)) {
      if (begins_another(plan, name)) {
        const int orc = plan.orc;
        close(at);
        plan = OrderPlan{};
        plan.orc = orc;
        plan.begin = at;
      }
      if (is_empty(plan) && given.empty()) plan.begin = at;
      if (name == "RXA") {
        given.push_back(at);
      } else {
        *slot(plan, name) = at;
      }
    }
  }
  close(static_cast<int>(segments.size()));
}

namespace {
/// Why the orders of a message with several PID cannot be read, and where it shows; empty: they are
/// of one patient, whose segment some send again with each order.
std::string_view why_not_of_one_patient(const Message& m, std::string_view& place) {
  const Segment* first = nullptr;
  for (const Segment& s : m.segments()) {
    if (s.name != "PID") continue;
    if (first == nullptr) {
      first = &s;
      continue;
    }
    constexpr std::size_t kHeaderStart = 8;  // MSH, its separator and those it declares
    const std::string_view header = m.text().substr(0, kHeaderStart);
    const std::size_t within = m.text().find(header, header.size());
    if (within != std::string_view::npos) {
      place = m.text().substr(within, kHeaderStart);
      return "another message (MSH) begins within this one: a segment end was lost";
    }
    if (m.field(s, 3) == m.field(*first, 3)) continue;
    place = m.field(s, 3);
    return "the message is about several patients (PID): whose its orders are is not known";
  }
  return {};
}
}  // namespace

void OrderReader::begin(const Unit& unit, std::uint32_t number, Message& message) {
  unit_ = unit;
  number_ = number;
  next_ = 0;
  refused_ = false;
  message.parse(unit.text);
  message_ = &message;
  plan_orders(*message_, plans_);
  merges_.clear();
  if (is_merge(*message_)) plan_merges(*message_, merges_);
  coding_.delimiters = message_->delimiters();
  coding_.has_high_bytes = message_->has_high_bytes();
  coding_.characters = message_->characters();
  coding_.may_change =
      message_->has_escapes() || message_->has_high_bytes() || message_->characters().shifts;
  coding_.converter = &converter_;
  date_.reset();
  const Segment* msh = message_->find("MSH");
  if (msh == nullptr) return;
  const auto date = engine::parse_hl7_date(message_->first(message_->field(*msh, 7), 1));
  if (date) date_ = *date;
}

RecordKind OrderReader::classify(std::string& reason, std::string_view& place) const {
  const Segment* msh = message_->find("MSH");
  place = {};
  if (msh == nullptr) {
    reason = "the message has no header (MSH)";
    return RecordKind::Unreadable;
  }
  place = message_->field(*msh, 9);
  if (unit_.cut) {
    reason = unit_.framed ? "the frame was not closed: the message may be cut short"
                          : "the input broke off: the message may be cut short";
    return RecordKind::Unreadable;
  }
  const Segment* dsc = message_->find("DSC");
  if (dsc != nullptr && !trim(message_->field(*dsc, 1)).empty()) {
    reason = "the message is continued in another one (DSC), which is not read";
    place = message_->field(*dsc, 1);
    return RecordKind::Unreadable;
  }
  const std::string_view version = trim(message_->first(message_->field(*msh, 12), 1));
  if (!is_version_two(version)) {
    reason = "version `" + std::string(version) + "` is not read; 2.3 to 2.8 are";
    place = message_->field(*msh, 12);
    return RecordKind::Unreadable;
  }
  if (!merges_.empty()) return RecordKind::Merge;
  const std::string_view kind = kind_of(*message_);
  if (is_one_of(kAnswerKinds, kind)) {
    reason = "`" + std::string(kind) + "` is an answer, not an order";
    return RecordKind::Outside;
  }
  const bool medicine =
      std::ranges::any_of(plans_, [](const OrderPlan& p) { return p.detail() >= 0; });
  if (medicine) {
    reason = why_not_of_one_patient(*message_, place);
    return reason.empty() ? RecordKind::Order : RecordKind::Unreadable;
  }
  const bool expected = is_one_of(kOrderKinds, kind);
  // These carry other orders too, so that none for a medicine is no fault.
  const bool mixed = kind == "ORM" || kind == "PPR" || kind == "VXU";
  if (expected && !mixed && plans_.empty()) {
    reason = "the message holds no order (no ORC, RXO or RXE)";
    return RecordKind::Unreadable;
  }
  if (expected && !mixed) return RecordKind::Order;
  if (kind.empty()) {
    reason = "the message does not say what it is (MSH-9)";
    return RecordKind::Unreadable;
  }
  reason = "`" + std::string(kind) + "` without a medication order";
  return RecordKind::Outside;
}

unsigned OrderReader::open_lane(engine::OrderBlock& block) const {
  const unsigned lane = block.add_lane();
  engine::RecordInfo& record = block.record(lane);
  record.message = number_;
  record.file = file_;
  record.offset = unit_.offset;
  record.line = unit_.line;
  record.text = unit_.text;
  if (date_) block.set_message_date(lane, *date_);
  return lane;
}

bool OrderReader::read_next(engine::OrderBlock& block) {
  if (refused_) return false;
  if (next_ == 0) {
    std::string reason;
    std::string_view place;
    const RecordKind kind = classify(reason, place);
    if (kind != RecordKind::Order && kind != RecordKind::Merge) {
      refused_ = true;
      const unsigned number = open_lane(block);
      const Lane lane{context_, block, *message_, coding_, date_, number, &dates_};
      block.record(number).kind = kind;
      block.record(number).reason = reason;
      block.record(number).reason_origin = lane.origin(place);
      const Segment* pid = message_->find("PID");
      if (pid != nullptr) read_patient(lane);
      return true;
    }
  }
  if (next_ == lanes()) return false;
  const unsigned lane = open_lane(block);
  if (merges_.empty()) {
    fill(block, lane, plans_[next_]);
  } else {
    read_merge({context_, block, *message_, coding_, date_, lane, &dates_}, merges_[next_]);
  }
  ++next_;
  return true;
}

void OrderReader::fill(engine::OrderBlock& block, unsigned number, const OrderPlan& plan) {
  const Lane lane{context_, block, *message_, coding_, date_, number, &dates_};
  engine::RecordInfo& record = block.record(number);
  const int at = plan.detail() >= 0 ? plan.detail() : plan.orc;
  const Segment& where = message_->segments()[static_cast<std::size_t>(at)];
  record.reason_origin = lane.origin(where.name);
  read_identity(lane, plan);
  read_patient(lane);
  if (!bodies_.recall(lane, plan)) {
    if (!read_body(lane, plan, where)) return;
    bodies_.keep(lane);
  }
  read_feed_places(lane, plan, places_);
  engine::complete(context_, block, number, texts_);
  // A code that no table knows still names the medicine, once the name has not.
  if (!lane.is_present(FieldId::SubstanceCode) && plan.detail() >= 0 &&
      !looks_shifted(*message_, where))
    lane.set(FieldId::SubstanceCode,
             message_->first(message_->field(where, layout_of(where.name).code), 1));
  say_glued(lane, plan);
}

}  // namespace meniscus::adapters::hl7v2
