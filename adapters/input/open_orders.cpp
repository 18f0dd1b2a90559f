// Finding the format and the reader (contract: open_orders.hpp).
#include "adapters/input/open_orders.hpp"

#include <algorithm>

#include "adapters/csv/csv_record.hpp"
#include "adapters/csv/csv_source.hpp"
#include "adapters/fhir/fhir_source.hpp"
#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/input/byte_sources.hpp"
#include "adapters/input/compressed_bytes.hpp"
#include "adapters/input/utf16_bytes.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters {
namespace {

using engine::Errc;
using engine::Error;
using engine::Input;
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
    if (head_field(name)) return true;
  }
  return false;
}

/// A key `resourceType`, in whatever object: in the text of a value its quotes would be escaped.
bool has_resource_type(std::string_view bytes) {
  constexpr std::string_view kKey = "\"resourceType\"";
  for (std::size_t at = bytes.find(kKey); at != std::string_view::npos;
       at = bytes.find(kKey, at + 1)) {
    if (at > 0 && bytes[at - 1] == '\\') continue;
    const std::string_view rest = without_lead(bytes.substr(at + kKey.size()));
    if (!rest.empty() && rest.front() == ':') return true;
  }
  return false;
}

/// The first key of an object is one of our own: what follows need not be waited for.
bool begins_with_own_key(std::string_view bytes) {
  while (!bytes.empty() && (bytes.front() == '[' || bytes.front() == '{'))
    bytes = without_lead(bytes.substr(1));
  if (bytes.empty() || bytes.front() != '"') return false;
  bytes.remove_prefix(1);
  const std::size_t end = bytes.find('"');
  if (end == std::string_view::npos) return false;
  const std::string_view key = bytes.substr(0, end);
  return std::ranges::any_of(engine::fields(), [&](const engine::FieldInfo& field) {
    return field.name == key || (field.name.starts_with(key) && field.name[key.size()] == '.');
  });
}

/// Nothing that follows can change the format that the bytes seem to be in.
bool is_settled(std::string_view first_bytes, Format format) {
  if (format != Format::Json) return format != Format::Auto;
  const std::string_view bytes = without_lead(first_bytes);
  if (begins_with_own_key(bytes)) return true;
  const std::size_t start = bytes.find('{');
  return start != std::string_view::npos &&
         object_end(bytes.substr(start)).kind != ObjectEnd::Kind::More;
}

/// Reads until there is enough to tell the format.  An input that fails later than at its first
/// byte is still told by what it gave; its reader meets the failure again and says it.
Result<std::string> first_bytes(engine::ByteSource& source) {
  std::string bytes;
  while (bytes.size() < kLookedAt) {
    const std::size_t had = bytes.size();
    bytes.resize(kLookedAt);
    const Result<std::size_t> got = source.read(bytes.data() + had, kLookedAt - had);
    bytes.resize(had + got.value_or(0));
    if (!got && detect_format(bytes) == Format::Auto) return got.error();
    if (!got) break;
    if (*got == 0 || is_settled(bytes, detect_format(bytes))) break;
  }
  return bytes;
}

}  // namespace

Format detect_format(std::string_view first_bytes) {
  const std::string_view bytes = without_lead(first_bytes);
  if (bytes.empty()) return Format::Auto;
  const std::string_view segment = bytes.substr(0, 3);
  if (bytes.front() == kMllpStart || segment == "MSH" || segment == "FHS" || segment == "BHS")
    return Format::Hl7;
  if (bytes.front() == '{' || bytes.front() == '[')
    return has_resource_type(bytes) ? Format::Fhir : Format::Json;
  // A line `sep=;`, as spreadsheets write it, stands before the head.
  const std::string_view head = bytes.substr(separator_line(bytes).length);
  if (names_a_field(head.substr(0, head.find_first_of("\r\n")))) return Format::Csv;
  return Format::Auto;
}

namespace {
/// Looks at the first bytes where the format is not said.
Result<OpenedInput> with_format(Input input, Format format) {
  if (format != Format::Auto) return OpenedInput{std::move(input), format};
  Result<std::string> bytes = first_bytes(*input.bytes);
  if (!bytes) return bytes.error();
  format = detect_format(*bytes);
  // An empty input is handed to a reader that says so.
  if (without_lead(*bytes).empty()) format = Format::Json;
  if (format == Format::Auto)
    return Error{Errc::Input,
                 input.name +
                     ": this is neither JSON, FHIR, CSV with a head of field names, nor "
                     "HL7 v2; say the format with --from"};
  input.bytes = with_bytes_before(std::move(*bytes), std::move(input.bytes));
  return OpenedInput{std::move(input), format};
}
}  // namespace

Result<OpenedInput> open_formatted(const std::string& name, Format format, std::uint32_t file) {
  Result<std::unique_ptr<engine::ByteSource>> bytes = open_bytes(name);
  if (!bytes) return bytes.error();
  return with_format(Input{name, utf8_bytes(unpacked_bytes(std::move(*bytes), name), name), file},
                     format);
}

Result<OpenedOrders> open_orders(Input input, Format format, const ReadContext& context) {
  Result<OpenedInput> opened = with_format(std::move(input), format);
  if (!opened) return opened.error();
  OpenedOrders orders;
  orders.format = opened->format;
  switch (opened->format) {
    case Format::Auto:
      break;
    case Format::Json:
      orders.source = make_json_source(std::move(opened->input), context);
      break;
    case Format::Csv:
      orders.source = make_csv_source(std::move(opened->input), context);
      break;
    case Format::Hl7:
      orders.source = std::make_unique<hl7v2::Hl7Source>(std::move(opened->input), context);
      break;
    case Format::Fhir:
      orders.source = fhir::make_fhir_source(std::move(opened->input), context);
      break;
  }
  return orders;
}

Result<OpenedOrders> open_orders(const std::string& name, Format format, std::uint32_t file,
                                 const ReadContext& context) {
  Result<OpenedInput> opened = open_formatted(name, format, file);
  if (!opened) return opened.error();
  return open_orders(std::move(opened->input), opened->format, context);
}

}  // namespace meniscus::adapters
