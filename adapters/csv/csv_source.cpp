// Head and records of a CSV input (contract: csv_source.hpp).
#include "adapters/csv/csv_source.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "adapters/csv/csv_record.hpp"
#include "adapters/support/chunk_buffer.hpp"
#include "adapters/support/near_name.hpp"
#include "adapters/support/text_place.hpp"
#include "engine/base/ascii.hpp"
#include "engine/base/utf8.hpp"

namespace meniscus::adapters {
namespace {

using engine::ascii::trimmed;

using engine::FieldId;
using engine::FieldSet;
using engine::OrderBlock;
using engine::Origin;
using engine::Place;
using engine::RecordInfo;
using engine::RecordKind;

// What an order cannot do without: a head without a column for it is a mistake, and its orders are
// not to pass as if nothing were missing.
constexpr std::array kNeeded = {FieldId::OrderId, FieldId::PatientId, FieldId::SubstanceCode,
                                FieldId::Dose};

/// A column that gives other fields than its own (engine::complete()).
struct Giver {
  FieldId column;
  FieldId gives;
};
constexpr std::array kGivers = {
    Giver{FieldId::PatientBorn, FieldId::PatientAge},
    // An age that is missing is said to be a missing birth date (engine/eval).
    Giver{FieldId::PatientAge, FieldId::PatientBorn},
    Giver{FieldId::SubstanceName, FieldId::Strength},
    Giver{FieldId::SubstanceName, FieldId::VialContent},
    Giver{FieldId::SubstanceName, FieldId::VialVolume},
    Giver{FieldId::SubstanceName, FieldId::Route},
    Giver{FieldId::OrderDirections, FieldId::Strength},
    Giver{FieldId::OrderDirections, FieldId::VialContent},
    Giver{FieldId::OrderDirections, FieldId::VialVolume},
    Giver{FieldId::OrderDirections, FieldId::Route},
    Giver{FieldId::OrderDirections, FieldId::Volume},
    Giver{FieldId::OrderDirections, FieldId::DosePerWeight},
    Giver{FieldId::OrderDirections, FieldId::Site}, Giver{FieldId::OrderDirections, FieldId::Side},
    Giver{FieldId::OrderDirections, FieldId::ScheduleEvery},
    Giver{FieldId::OrderDirections, FieldId::ScheduleTimes},
    Giver{FieldId::ScheduleText, FieldId::Volume}, Giver{FieldId::ScheduleText, FieldId::Site},
    Giver{FieldId::ScheduleText, FieldId::Side},
    Giver{FieldId::ScheduleText, FieldId::ScheduleEvery},
    Giver{FieldId::ScheduleText, FieldId::ScheduleTimes}};

constexpr std::array kDays = {FieldId::ScheduleStart, FieldId::OrderGiven, FieldId::OrderPlaced};

constexpr std::array kTexts = {FieldId::SubstanceName, FieldId::OrderDirections,
                               FieldId::ScheduleText};
constexpr std::array kStated = {
    FieldId::StatedDose,  FieldId::StatedStrength, FieldId::StatedVolume, FieldId::StatedEvery,
    FieldId::StatedRoute, FieldId::StatedSite,     FieldId::StatedSide};

/// The fields that no column of the head gives, neither as its own nor by what it says of others.
FieldSet not_given_by(const FieldSet& columns) {
  FieldSet given = columns;
  for (const FieldId field : kNeeded)
    given.set(engine::index(field));
  for (const Giver& giver : kGivers)
    if (columns.test(engine::index(giver.column))) given.set(engine::index(giver.gives));
  const auto has = [&](FieldId field) { return columns.test(engine::index(field)); };
  // From a birth date follows an age only with a day to count it to.
  if (!has(FieldId::PatientAge) && std::none_of(kDays.begin(), kDays.end(), has))
    given.reset(engine::index(FieldId::PatientAge));
  const bool text = std::any_of(kTexts.begin(), kTexts.end(), has);
  if (text)
    for (const FieldId field : kStated)
      given.set(engine::index(field));
  return ~given;
}

struct Column {
  std::string name;
  std::optional<FieldId> field;  // nothing: not read
};

class CsvSource : public engine::OrderSource {
 public:
  CsvSource(engine::Input input, const engine::ReadContext& context, const CsvLimits& limits)
      : name_(std::move(input.name)),
        file_(input.file),
        context_(context),
        limits_(limits),
        buffer_(std::move(input.bytes), limits.chunk_bytes) {
    read_head();
  }

  bool next(OrderBlock& block) override {
    block.clear();
    if (!head_problem_.empty() && !head_said_) {
      head_said_ = true;
      say_head(block);
      return true;
    }
    if (!usable_) return false;
    while (!block.full()) {
      const Step step = record(block);
      if (step == Step::Taken) continue;
      if (step == Step::End) break;
      if (block.size() > 0) return true;
      buffer_.more();
    }
    return block.size() > 0;
  }

  [[nodiscard]] Place place(const OrderBlock& block, unsigned lane, FieldId field,
                            Origin origin) const override {
    const RecordInfo& record = block.record(lane);
    const bool there = origin.length > 0;
    Place place = finish(record, there ? origin : Origin{0, 1});
    place.at = "record " + std::to_string(record.message);
    if (there || has_column(field)) place.at += ", column " + std::string(engine::info(field).name);
    return place;
  }

  [[nodiscard]] Place record_place(const OrderBlock& block, unsigned lane) const override {
    const RecordInfo& record = block.record(lane);
    const bool order = record.kind == RecordKind::Order;
    Place place = finish(record, order ? Origin{0, 1} : record.reason_origin);
    place.at = record.message == 0 ? "head" : "record " + std::to_string(record.message);
    return place;
  }

  [[nodiscard]] FieldSet never_carries() const override { return not_given_by(has_column_); }

 private:
  enum class Step : std::uint8_t { Taken, NeedsMore, End };

  [[nodiscard]] bool has_column(FieldId field) const {
    return usable_ && has_column_.test(engine::index(field));
  }

  [[nodiscard]] Place finish(const RecordInfo& record, Origin origin) const {
    Place place;
    const std::string_view window = buffer_.window();
    const bool here =
        record.text.data() >= window.data() && record.text.data() <= window.data() + window.size();
    if (here) {
      place = text_place(record, {window, buffer_.characters_before()}, origin);
    } else {
      // The head is kept beside the buffer.
      place = text_place(record, {record.text, 0}, origin);
    }
    place.file = name_;
    return place;
  }

  // ---- the head

  /// Reads until the first line that is not blank is whole, or nothing more comes.
  void find_head() {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    while (buffer_.bytes().size() < kByteOrderMark.size() && buffer_.more()) {
    }
    if (buffer_.bytes().starts_with(kByteOrderMark)) buffer_.consume(kByteOrderMark.size());
    for (;;) {
      // Each time: a piece may end in the midst of the blank lines.
      skip_blank_lines();
      const std::string_view bytes = buffer_.bytes();
      if (bytes.find('\n') != std::string_view::npos || bytes.size() > limits_.record_bytes) return;
      if (!buffer_.more()) return;
    }
  }

  void read_head() {
    find_head();
    const SeparatorLine said = separator_line(buffer_.bytes());
    if (said.length > 0) {
      advance(said.length);
      find_head();
    }
    std::string_view bytes = buffer_.bytes();
    separator_ = said.length > 0 ? said.separator : separator_of(bytes.substr(0, bytes.find('\n')));
    CsvRecord head = cut_record(bytes, separator_, buffer_.ended(), cells_);
    while (head.kind == CsvRecord::Kind::More && bytes.size() <= limits_.record_bytes) {
      const bool got = buffer_.more();
      bytes = buffer_.bytes();  // memory moves even when nothing more comes
      head = cut_record(bytes, separator_, buffer_.ended(), cells_);
      if (!got) break;
    }
    if (head.kind == CsvRecord::Kind::More) head = cut_record(bytes, separator_, true, cells_);
    head_text_ = bytes.substr(0, head.length);
    head_line_ = line_;
    if (buffer_.error()) {
      head_problem_ = buffer_.error()->message;
    } else if (bytes.empty()) {
      head_problem_ = "the input is empty";
    } else if (std::string_view(",;\t").find(separator_) == std::string_view::npos) {
      head_problem_ = std::string("the line before the head names the separator `") + separator_ +
                      "`; `,`, `;` and tab are read";
    } else if (head.kind == CsvRecord::Kind::Broken) {
      head_problem_ = "the head cannot be read: a quote where none may stand";
      head_origin_ = {static_cast<std::uint32_t>(head.bad), 1};
    } else {
      name_columns(bytes);
    }
    advance(head.size);
  }

  void name_columns(std::string_view bytes) {
    std::string unknown;
    bool twice = false;
    for (const Cell& cell : cells_) {
      Column& column = columns_.emplace_back();
      column.name = trimmed(cell.doubled ? plain(cell) : std::string(cell.text));
      const auto field = head_field(column.name);
      const Origin origin{static_cast<std::uint32_t>(cell.text.data() - bytes.data()),
                          static_cast<std::uint32_t>(cell.text.size())};
      if (!field) {
        if (!is_ignored(column.name)) say_unknown(column.name, origin, unknown);
        continue;
      }
      if (has_column_.test(engine::index(*field)) && !twice) {
        twice = true;
        head_problem_ = "the column `" + column.name + "` stands twice in the head";
        head_origin_ = origin;
      }
      column.field = field;
      has_column_.set(engine::index(*field));
    }
    if (twice) return;
    head_problem_ = unknown;
    const bool any = std::any_of(columns_.begin(), columns_.end(),
                                 [](const Column& column) { return column.field.has_value(); });
    if (!any) {
      head_problem_ = "the head names no field of an order";
      return;
    }
    usable_ = true;
  }

  [[nodiscard]] bool is_ignored(std::string_view name) const {
    return name.starts_with("x-") || name.starts_with("_") ||
           context_.feed->ignored.find(name) != context_.feed->ignored.end();
  }

  void say_unknown(const std::string& name, Origin origin, std::string& unknown) {
    NearName near(name);
    for (const engine::FieldInfo& field : engine::fields())
      near.offer(field.name);
    if (unknown.empty()) {
      head_origin_ = origin;
      unknown = "columns of the head that are no field are not read: ";
    } else {
      unknown += ", ";
    }
    unknown += "`" + name + "`";
    if (!near.best().empty()) unknown += " (is `" + std::string(near.best()) + "` meant?)";
  }

  void say_head(OrderBlock& block) {
    const unsigned lane = block.add_lane();
    RecordInfo& info = block.record(lane);
    info.kind = RecordKind::Unreadable;
    info.file = file_;
    info.line = head_line_;
    info.text = head_text_;
    info.reason = head_problem_;
    info.reason_origin = head_origin_;
  }

  // ---- records

  void advance(std::size_t count) {
    const char* from = buffer_.bytes().data();
    line_ += static_cast<std::uint64_t>(std::count(from, from + count, '\n'));
    buffer_.consume(count);
  }

  void skip_blank_lines() {
    const std::string_view bytes = buffer_.bytes();
    std::size_t at = 0;
    while (at < bytes.size()) {
      std::size_t end = at;
      if (bytes[end] == '\r') ++end;
      if (end >= bytes.size() || bytes[end] != '\n') break;
      at = end + 1;
    }
    advance(at);
  }

  Step record(OrderBlock& block) {
    skip_blank_lines();
    const std::string_view bytes = buffer_.bytes();
    if (bytes.empty()) {
      if (!buffer_.ended()) return Step::NeedsMore;
      return end(block);
    }
    CsvRecord cut = cut_record(bytes, separator_, buffer_.ended(), cells_);
    if (cut.kind == CsvRecord::Kind::More) {
      if (bytes.size() <= limits_.record_bytes) return Step::NeedsMore;
      cut = cut_record(bytes, separator_, true, cells_);  // a quote that never ends
      cut.kind = CsvRecord::Kind::Broken;
    }
    const unsigned lane = open(block, bytes.substr(0, cut.length));
    if (cut.kind == CsvRecord::Kind::Broken) {
      refuse(block, lane, "a quote that is not closed, or that stands where none may stand",
             {static_cast<std::uint32_t>(cut.bad), 1});
    } else if (buffer_.error() && cut.size == cut.length) {
      // No line end, and the input broke off: nobody knows what its last cell was to be.
      error_said_ = true;
      refuse(block, lane, buffer_.error()->message, {0, 1});
    } else {
      fill(block, lane);
    }
    advance(cut.size);
    return Step::Taken;
  }

  Step end(OrderBlock& block) {
    if (buffer_.error() && !error_said_) {
      error_said_ = true;
      refuse(block, open(block, buffer_.bytes()), buffer_.error()->message, {});
    }
    return Step::End;
  }

  unsigned open(OrderBlock& block, std::string_view text) {
    if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
    const unsigned lane = block.add_lane();
    RecordInfo& info = block.record(lane);
    info.file = file_;
    info.message = ++records_;
    info.offset = buffer_.offset();
    info.line = line_;
    info.text = text;
    return lane;
  }

  static void refuse(OrderBlock& block, unsigned lane, std::string reason, Origin origin) {
    RecordInfo& info = block.record(lane);
    info.kind = RecordKind::Unreadable;
    info.reason = std::move(reason);
    info.reason_origin = origin;
  }

  void fill(OrderBlock& block, unsigned lane) {
    const std::string_view text = block.record(lane).text;
    if (cells_.size() != columns_.size()) {
      refuse(block, lane,
             "the record has " + std::to_string(cells_.size()) + " cells and the head " +
                 std::to_string(columns_.size()) + "; which cell is which is not known",
             {0, 1});
      return;
    }
    const std::size_t bad = engine::first_invalid_utf8(text);
    const std::size_t nul = text.find('\0');
    if (bad != std::string_view::npos || nul != std::string_view::npos) {
      const bool utf8 = bad < nul;
      refuse(block, lane, utf8 ? "bytes that are no UTF-8 text" : "a NUL byte",
             {static_cast<std::uint32_t>(utf8 ? bad : nul), 1});
      return;
    }
    for (std::size_t i = 0; i < cells_.size(); ++i)
      if (columns_[i].field) cell(block, lane, *columns_[i].field, cells_[i], text);
    engine::complete(context_, block, lane);
  }

  void cell(OrderBlock& block, unsigned lane, FieldId field, const Cell& cell,
            std::string_view record) const {
    const Origin origin{static_cast<std::uint32_t>(cell.text.data() - record.data()),
                        static_cast<std::uint32_t>(cell.text.size())};
    const std::string_view text = cell.doubled ? block.keep(plain(cell)) : cell.text;
    engine::set_field(context_, block, lane, field, text, origin);
  }

  std::string name_;
  std::uint32_t file_;
  engine::ReadContext context_;
  CsvLimits limits_;
  ChunkBuffer buffer_;
  char separator_ = ',';
  std::vector<Column> columns_;
  std::vector<Cell> cells_;
  FieldSet has_column_;
  std::string head_text_;
  std::string head_problem_;
  Origin head_origin_;
  std::uint64_t head_line_ = 1;
  std::uint64_t line_ = 1;
  std::uint32_t records_ = 0;
  bool usable_ = false;
  bool head_said_ = false;
  bool error_said_ = false;
};

}  // namespace

std::unique_ptr<engine::OrderSource> make_csv_source(engine::Input input,
                                                     const engine::ReadContext& context,
                                                     const CsvLimits& limits) {
  return std::make_unique<CsvSource>(std::move(input), context, limits);
}

}  // namespace meniscus::adapters
