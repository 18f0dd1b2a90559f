// Cutting an input into records, and records into orders (contract: fhir_source.hpp).
#include "adapters/fhir/fhir_source.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <utility>

#include "adapters/fhir/fhir_path.hpp"
#include "adapters/fhir/milestones.hpp"
#include "adapters/fhir/order_reader.hpp"
#include "adapters/fhir/record_end.hpp"
#include "adapters/support/chunk_buffer.hpp"
#include "adapters/support/json_scan.hpp"
#include "adapters/support/text_place.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;
using engine::OrderBlock;
using engine::Origin;
using engine::Place;
using engine::RecordInfo;
using engine::RecordKind;

// What no element of the three resources says, nor the medicine's name or the directions in it
// (what engine::complete() reads there is not in this list).
constexpr std::array kNoPlace = {FieldId::SubstanceVehicle,   FieldId::SubstancePreservative,
                                 FieldId::VialKind,           FieldId::VialOpened,
                                 FieldId::VialGraduated,      FieldId::Diluent,
                                 FieldId::SuppliedVehicle,    FieldId::SuppliedVolume,
                                 FieldId::SuppliedVialVolume, FieldId::Marks,
                                 FieldId::Injections,         FieldId::Quadrant,
                                 FieldId::SiteCondition,      FieldId::MoreSites,
                                 FieldId::SyringeCapacity,    FieldId::SyringeGraduation,
                                 FieldId::SyringeScale,       FieldId::SyringeNeedle,
                                 FieldId::SyringeTip,         FieldId::NeedleGauge,
                                 FieldId::NeedleLength,       FieldId::NeedleWall,
                                 FieldId::NeedleHub,          FieldId::DrawNeedleGauge,
                                 FieldId::DrawNeedleLength,   FieldId::DrawNeedleFilter,
                                 FieldId::Technique,          FieldId::SelfInjected,
                                 FieldId::ScheduleLastGiven,  FieldId::SupplySyringes,
                                 FieldId::SupplyNeedles,      FieldId::SupplyDrawNeedles,
                                 FieldId::SupplySwabs,        FieldId::SupplySharpsBox,
                                 FieldId::SupplyDoses,        FieldId::SupplySyringeRefills,
                                 FieldId::SupplyNeedleRefills};

class FhirSource : public engine::OrderSource {
 public:
  FhirSource(engine::Input input, const engine::ReadContext& context, const FhirLimits& limits)
      : name_(std::move(input.name)),
        file_(input.file),
        limits_(limits),
        buffer_(std::move(input.bytes), limits.chunk_bytes),
        reader_(context) {}

  bool next(OrderBlock& block) override {
    block.clear();
    while (!block.full()) {
      if (reading_) {
        reader_.read_next(block);
        reading_ = !reader_.is_done();
        continue;
      }
      finish_record();
      const Step step = record(block);
      if (step == Step::Taken) continue;
      if (step == Step::End) break;
      // Memory moves when more is read, and the block's texts point into it.
      if (block.size() > 0) return true;
      tree_of_ = nullptr;
      milestones_.stop();
      if (!buffer_.more() && buffer_.error() && !error_said_) say_error(block);
    }
    return block.size() > 0;
  }

  [[nodiscard]] Place place(const OrderBlock& block, unsigned lane, FieldId /*field*/,
                            Origin origin) const override {
    const RecordInfo& record = block.record(lane);
    return place_of(record, origin.length == 0 ? record.reason_origin : origin);
  }

  void position(const OrderBlock& block, unsigned lane, FieldId /*field*/, Origin origin,
                Place& into) const override {
    const RecordInfo& record = block.record(lane);
    const Origin shown = origin.length == 0 ? record.reason_origin : origin;
    into.at = path_of(record, shown);
    if (record.text.data() == nullptr)
      into.line = record.line;
    else
      set_position(record, shown, into);
  }

  [[nodiscard]] Place record_place(const OrderBlock& block, unsigned lane) const override {
    const RecordInfo& record = block.record(lane);
    return place_of(record, record.reason_origin);
  }

  [[nodiscard]] engine::FieldSet never_carries() const override {
    engine::FieldSet fields;
    for (const FieldId field : kNoPlace)
      fields.set(engine::index(field));
    return fields;
  }

 private:
  enum class Step : std::uint8_t { Taken, NeedsMore, End };

  [[nodiscard]] TextWindow window() const {
    return {buffer_.window(), buffer_.characters_before()};
  }

  void set_position(RecordInfo record, Origin origin, Place& into) const {
    TextWindow around = window();
    milestones_.narrow(record, around, origin);
    set_text_position(record, around, origin, into);
  }

  [[nodiscard]] Place text_place_of(RecordInfo record, Origin origin) const {
    TextWindow around = window();
    milestones_.narrow(record, around, origin);
    return text_place(record, around, origin);
  }

  [[nodiscard]] std::string path_of(const RecordInfo& record, Origin origin) const {
    if (record.text.data() == nullptr) return {};
    if (record.text.data() == tree_of_) return fhir_path_at(reader_.tree(), origin.offset);
    return fhir_path_at(record.text, origin.offset);
  }

  [[nodiscard]] Place place_of(const RecordInfo& record, Origin origin) const {
    Place place;
    if (record.text.data() == nullptr)
      place.line = record.line;
    else
      place = text_place_of(record, origin);
    place.file = name_;
    place.at = path_of(record, origin);
    return place;
  }

  // ---- cutting

  Step record(OrderBlock& block) {
    if (too_long_) return skip_line();
    skip_between();
    const std::string_view bytes = buffer_.bytes();
    if (bytes.empty()) return buffer_.ended() ? end(block) : Step::NeedsMore;
    if (bytes.front() == '{') return object(block, bytes);
    // FHIR has no list of resources; those that send one mean its items.
    const bool bracket = in_list_ ? bytes.front() == ']' : bytes.front() == '[';
    if (!bracket) return stray(block, bytes);
    in_list_ = !in_list_;
    list_line_ = line_;
    anything_ = true;
    advance(1);
    return Step::Taken;
  }

  Step object(OrderBlock& block, std::string_view bytes) {
    const ObjectEnd end = record_end(bytes);
    if (end.kind == ObjectEnd::Kind::More && !buffer_.ended()) return wait(block, bytes);
    std::size_t size = end.size;
    while (size > 1 && is_json_space(bytes[size - 1]))
      --size;
    const std::string_view text = bytes.substr(0, size);
    if (size > limits_.record_bytes) {
      refuse(block, text, too_long(), 0);
      advance(end.size);
      return Step::Taken;
    }
    if (const auto problem = json_problem(text)) {
      refuse(block, text, "the record is no JSON: " + problem->message, problem->offset);
      advance(end.size);
      return Step::Taken;
    }
    reader_.begin(info_of(text));
    tree_of_ = text.data();
    reading_ = !reader_.is_done();
    taken_ = end.size;
    return Step::Taken;
  }

  /// The record that was read is behind; its bytes stay where they are until more are read.
  void finish_record() {
    advance(taken_);
    taken_ = 0;
  }

  void advance(std::size_t count) {
    const char* from = buffer_.bytes().data();
    line_ += static_cast<std::uint64_t>(std::count(from, from + count, '\n'));
    buffer_.consume(count);
  }

  void skip_between() {
    const std::string_view bytes = buffer_.bytes();
    std::size_t at = 0;
    if (buffer_.offset() == 0 && bytes.substr(0, 3) == "\xEF\xBB\xBF") at = 3;
    while (at < bytes.size() && (is_json_space(bytes[at]) || (in_list_ && bytes[at] == ',')))
      ++at;
    advance(at);
  }

  RecordInfo info_of(std::string_view text) {
    anything_ = true;
    RecordInfo info;
    info.file = file_;
    info.message = messages_++;
    info.offset = buffer_.offset();
    info.line = line_;
    info.text = text;
    return info;
  }

  void refuse(OrderBlock& block, std::string_view text, std::string reason, std::size_t offset) {
    const unsigned lane = block.add_lane();
    RecordInfo& record = block.record(lane);
    record = info_of(text);
    record.kind = RecordKind::Unreadable;
    record.reason = std::move(reason);
    if (text.data() != nullptr) record.reason_origin = {static_cast<std::uint32_t>(offset), 1};
  }

  /// Waits for the rest of a record, unless there is already more of it than is allowed.
  Step wait(OrderBlock& block, std::string_view bytes) {
    if (bytes.size() <= limits_.record_bytes) return Step::NeedsMore;
    constexpr std::size_t kKept = 256;  // enough to show
    refuse(block, bytes.substr(0, kKept), too_long(), 0);
    too_long_ = true;
    return Step::Taken;
  }

  [[nodiscard]] std::string too_long() const {
    return "the record is longer than " + std::to_string(limits_.record_bytes >> 20U) + " MiB";
  }

  /// The rest of a record that is too long: up to the next line.
  Step skip_line() {
    const std::string_view bytes = buffer_.bytes();
    const std::size_t newline = bytes.find('\n');
    const bool found = newline != std::string_view::npos;
    advance(found ? newline + 1 : bytes.size());
    too_long_ = !found && !buffer_.ended();
    return found || buffer_.ended() ? Step::Taken : Step::NeedsMore;
  }

  /// What is no object where one is needed: the rest of its line.
  Step stray(OrderBlock& block, std::string_view bytes) {
    std::size_t newline = bytes.find('\n');
    if (newline == std::string_view::npos) {
      if (!buffer_.ended()) return wait(block, bytes);
      newline = bytes.size();
    }
    refuse(block, bytes.substr(0, newline), "no resource: a JSON object is needed here", 0);
    advance(newline);
    return Step::Taken;
  }

  Step end(OrderBlock& block) {
    if (ended_) return Step::End;
    ended_ = true;
    if (in_list_)
      refuse(block, {},
             "the list that starts on line " + std::to_string(list_line_) + " is not closed", 0);
    else if (!anything_ && !error_said_)
      refuse(block, {}, "the input is empty", 0);
    return Step::End;
  }

  void say_error(OrderBlock& block) {
    error_said_ = true;
    refuse(block, {}, buffer_.error()->message, 0);
  }

  std::string name_;
  std::uint32_t file_;
  FhirLimits limits_;
  ChunkBuffer buffer_;
  OrderReader reader_;
  mutable Milestones milestones_;  // worked out when somebody asks
  const char* tree_of_ = nullptr;  // where the record stands that the reader's tree is of
  std::size_t taken_ = 0;          // bytes of the record being read
  std::uint64_t line_ = 1;
  std::uint64_t list_line_ = 0;
  std::uint32_t messages_ = 0;
  bool reading_ = false;  // the reader has more of the record
  bool in_list_ = false;
  bool too_long_ = false;
  bool anything_ = false;
  bool error_said_ = false;
  bool ended_ = false;
};

}  // namespace

std::unique_ptr<engine::OrderSource> make_fhir_source(engine::Input input,
                                                      const engine::ReadContext& context,
                                                      const FhirLimits& limits) {
  return std::make_unique<FhirSource>(std::move(input), context, limits);
}

}  // namespace meniscus::adapters::fhir
