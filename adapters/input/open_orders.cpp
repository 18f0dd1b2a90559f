// Finding the format and the reader (contract: open_orders.hpp).
#include "adapters/input/open_orders.hpp"

#include <algorithm>

#include "adapters/csv/csv_source.hpp"
#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"

namespace meniscus::adapters {
namespace {

using engine::Errc;
using engine::Error;
using engine::Input;
using engine::OrderBlock;
using engine::OrderSource;
using engine::Place;
using engine::ReadContext;
using engine::Result;

constexpr std::size_t kLookedAt = 4096;
constexpr char kMllpStart = '\x0B';

std::string_view without_lead(std::string_view bytes) {
  if (bytes.substr(0, 3) == "\xEF\xBB\xBF") bytes.remove_prefix(3);
  while (!bytes.empty() && (bytes.front() == ' ' || bytes.front() == '\t' ||
                            bytes.front() == '\n' || bytes.front() == '\r'))
    bytes.remove_prefix(1);
  return bytes;
}

bool names_a_field(std::string_view line) {
  while (!line.empty()) {
    const std::size_t end = std::min(line.find_first_of(",;\t"), line.size());
    std::string_view name = line.substr(0, end);
    line.remove_prefix(std::min(end + 1, line.size()));
    while (!name.empty() && (name.front() == ' ' || name.front() == '"'))
      name.remove_prefix(1);
    while (!name.empty() && (name.back() == ' ' || name.back() == '"'))
      name.remove_suffix(1);
    if (engine::field_named(name)) return true;
  }
  return false;
}

/// Reads until there is enough to tell the format.
Result<std::string> first_bytes(engine::ByteSource& source) {
  std::string bytes;
  while (bytes.size() < kLookedAt) {
    const std::size_t had = bytes.size();
    bytes.resize(kLookedAt);
    const Result<std::size_t> got = source.read(bytes.data() + had, kLookedAt - had);
    if (!got) return got.error();
    bytes.resize(had + *got);
    if (*got == 0 || detect_format(bytes) != Format::Auto) break;
  }
  return bytes;
}

/// An input that could not be opened, as an order that could not be read.
class Failed : public OrderSource {
 public:
  Failed(std::string name, std::uint32_t file, std::string reason)
      : name_(std::move(name)), file_(file), reason_(std::move(reason)) {}

  bool next(OrderBlock& block) override {
    block.clear();
    if (said_) return false;
    said_ = true;
    engine::RecordInfo& info = block.record(block.add_lane());
    info.kind = engine::RecordKind::Unreadable;
    info.file = file_;
    info.reason = reason_;
    return true;
  }
  [[nodiscard]] Place place(const OrderBlock& /*block*/, unsigned /*lane*/,
                            engine::FieldId /*field*/, engine::Origin /*origin*/) const override {
    return whole();
  }
  [[nodiscard]] Place record_place(const OrderBlock& /*block*/, unsigned /*lane*/) const override {
    return whole();
  }

 private:
  [[nodiscard]] Place whole() const {
    Place place;
    place.file = name_;
    return place;
  }
  std::string name_;
  std::uint32_t file_;
  std::string reason_;
  bool said_ = false;
};

class AllOrders : public OrderSource {
 public:
  AllOrders(std::vector<std::string> names, Format format, const ReadContext& context)
      : names_(std::move(names)), format_(format), context_(context) {
    open_next();
  }

  bool next(OrderBlock& block) override {
    while (source_ != nullptr) {
      if (source_->next(block)) return true;
      open_next();
    }
    block.clear();
    return false;
  }
  [[nodiscard]] Place place(const OrderBlock& block, unsigned lane, engine::FieldId field,
                            engine::Origin origin) const override {
    return source_ == nullptr ? Place{} : source_->place(block, lane, field, origin);
  }
  [[nodiscard]] Place record_place(const OrderBlock& block, unsigned lane) const override {
    return source_ == nullptr ? Place{} : source_->record_place(block, lane);
  }
  [[nodiscard]] engine::FieldSet never_carries() const override {
    return source_ == nullptr ? engine::FieldSet{} : source_->never_carries();
  }

 private:
  void open_next() {
    source_.reset();
    if (opened_ == names_.size()) return;
    const std::string& name = names_[opened_];
    const auto file = static_cast<std::uint32_t>(opened_++);
    Result<OpenedOrders> orders = open_orders(name, format_, file, context_);
    if (orders)
      source_ = std::move(orders->source);
    else
      source_ = std::make_unique<Failed>(name, file, orders.error().message);
  }

  std::vector<std::string> names_;
  Format format_;
  ReadContext context_;
  std::size_t opened_ = 0;
  std::unique_ptr<OrderSource> source_;
};

}  // namespace

Format detect_format(std::string_view first_bytes) {
  const std::string_view bytes = without_lead(first_bytes);
  if (bytes.empty()) return Format::Auto;
  const std::string_view segment = bytes.substr(0, 3);
  if (bytes.front() == kMllpStart || segment == "MSH" || segment == "FHS" || segment == "BHS")
    return Format::Hl7;
  if (bytes.front() == '{' || bytes.front() == '[') return Format::Json;
  if (names_a_field(bytes.substr(0, bytes.find_first_of("\r\n")))) return Format::Csv;
  return Format::Auto;
}

Result<OpenedOrders> open_orders(Input input, Format format, const ReadContext& context) {
  OpenedOrders opened;
  opened.format = format;
  if (format == Format::Auto) {
    Result<std::string> bytes = first_bytes(*input.bytes);
    if (!bytes) return bytes.error();
    opened.format = detect_format(*bytes);
    // An empty input is handed to a reader that says so.
    if (without_lead(*bytes).empty()) opened.format = Format::Json;
    if (opened.format == Format::Auto)
      return Error{Errc::Input, input.name +
                                    ": this is neither JSON, CSV with a head of field names, nor "
                                    "HL7 v2; say the format with --from"};
    input.bytes = with_bytes_before(std::move(*bytes), std::move(input.bytes));
  }
  switch (opened.format) {
    case Format::Auto:
      break;
    case Format::Json:
      opened.source = make_json_source(std::move(input), context);
      break;
    case Format::Csv:
      opened.source = make_csv_source(std::move(input), context);
      break;
    case Format::Hl7:
      opened.source = std::make_unique<hl7v2::Hl7Source>(std::move(input), context);
      break;
  }
  return opened;
}

Result<OpenedOrders> open_orders(const std::string& name, Format format, std::uint32_t file,
                                 const ReadContext& context) {
  Result<std::unique_ptr<engine::ByteSource>> bytes = open_bytes(name);
  if (!bytes) return bytes.error();
  return open_orders(Input{name, std::move(*bytes), file}, format, context);
}

std::unique_ptr<OrderSource> open_all_orders(std::vector<std::string> names, Format format,
                                             const ReadContext& context) {
  return std::make_unique<AllOrders>(std::move(names), format, context);
}

}  // namespace meniscus::adapters
