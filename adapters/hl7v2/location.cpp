// Paths and lines, found by splitting the message once more.
#include "adapters/hl7v2/location.hpp"

#include <algorithm>
#include <array>

#include "adapters/hl7v2/order_fields.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;

constexpr std::size_t kExcerptWidth = 100;  // characters

bool is_end(char c) { return c == '\r' || c == '\n'; }
bool is_continuation(char c) { return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U; }

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(
      std::ranges::count_if(text, [](char c) { return !is_continuation(c); }));
}

unsigned occurrence_of(const Message& m, const Segment& wanted) {
  unsigned count = 0;
  for (const Segment& s : m.segments()) {
    if (s.name == wanted.name) ++count;
    if (s.begin == wanted.begin) break;
  }
  return count;
}

/// Which part between separators holds the byte at `at`, and that part.
unsigned part_at(const Message& m, std::string_view text, char separator, std::size_t at,
                 std::string_view& part) {
  unsigned number = 1;
  std::size_t begin = 0;
  while (true) {
    const std::size_t length = m.find_in(text.substr(begin), separator);
    part = text.substr(begin, length);
    if (length == std::string_view::npos || begin + length >= at) return number;
    begin += length + 1;
    ++number;
  }
}

const Segment* segment_with(const Message& m, std::uint32_t offset) {
  for (const Segment& s : m.segments())
    if (offset >= s.begin && offset <= s.end && !s.name.empty()) return &s;
  return nullptr;
}

void refine(const Message& m, std::string_view field, std::size_t at, std::size_t length,
            Path& path) {
  const Delimiters& d = m.delimiters();
  std::string_view repetition;
  const unsigned number = part_at(m, field, d.repetition, at, repetition);
  if (m.repeats(field)) path.repetition = number;
  const auto within = static_cast<std::size_t>(field.data() + at - repetition.data());
  if (within + length > repetition.size()) return;
  std::string_view component;
  const unsigned of_repetition = part_at(m, repetition, d.component, within, component);
  const auto inside = static_cast<std::size_t>(repetition.data() + within - component.data());
  if (inside + length > component.size()) return;
  path.component = of_repetition;
  if (m.find_in(component, d.subcomponent) == std::string_view::npos) return;
  std::string_view subcomponent;
  const unsigned of_component = part_at(m, component, d.subcomponent, inside, subcomponent);
  if (length <= subcomponent.size()) path.subcomponent = of_component;
}

/// The segment that should carry a field, and the field's number where the standard has one.
struct Carrier {
  FieldId field;
  std::string_view segment;
  unsigned number;
};
constexpr std::array<Carrier, 14> kCarriers = {{{FieldId::OrderId, "ORC", 2},
                                                {FieldId::OrderFiller, "ORC", 3},
                                                {FieldId::OrderAction, "ORC", 1},
                                                {FieldId::OrderStatus, "ORC", 5},
                                                {FieldId::OrderPlaced, "ORC", 9},
                                                {FieldId::PatientId, "PID", 3},
                                                {FieldId::PatientBorn, "PID", 7},
                                                {FieldId::PatientAge, "PID", 7},
                                                {FieldId::PatientSex, "PID", 8},
                                                {FieldId::Route, "RXR", 1},
                                                {FieldId::Site, "RXR", 2},
                                                {FieldId::Side, "RXR", 2},
                                                {FieldId::ScheduleEvery, "TQ1", 3},
                                                {FieldId::ScheduleStart, "TQ1", 7}}};

unsigned detail_field(FieldId field, std::string_view detail) {
  const DetailLayout& at = layout_of(detail);
  if (field == FieldId::SubstanceCode || field == FieldId::SubstanceName) return at.code;
  if (field == FieldId::Dose) return at.low;
  return field == FieldId::Strength ? at.strength : 0;
}

}  // namespace

Path path_of(std::string_view text, engine::Origin origin) {
  Message m;
  m.parse(text);
  return path_of(m, origin);
}

Path path_of(const Message& m, engine::Origin origin) {
  Path path;
  const Segment* s = segment_with(m, origin.offset);
  if (s == nullptr) return path;
  path.segment = s->name;
  path.occurrence = occurrence_of(m, *s);
  if (origin.offset < s->begin + 3) return path;
  const bool header = s->name == "MSH";
  for (unsigned n = header ? 2 : 1; n <= s->fields + (header ? 1 : 0); ++n) {
    const std::string_view field = m.field(*s, n);
    const auto begin = static_cast<std::size_t>(field.data() - m.text().data());
    if (origin.offset < begin || origin.offset > begin + field.size()) continue;
    path.field = n;
    refine(m, field, origin.offset - begin, origin.length, path);
    break;
  }
  return path;
}

std::optional<Path> segment_path(std::string_view text, std::uint32_t offset, char separator) {
  constexpr std::size_t kName = 3;
  const auto ends_name = [&](std::size_t at) {
    return at < text.size() && (text[at] == separator || text[at] == '\r');
  };
  const bool begins_line =
      text.starts_with("MSH") && offset > 0 && offset < text.size() && text[offset - 1] == '\r';
  if (!begins_line || !ends_name(offset + kName) ||
      !looks_like_segment(text.substr(offset, kName), separator))
    return std::nullopt;
  const std::string_view before = text.substr(0, offset);
  if (before.find('\n') != std::string_view::npos) return std::nullopt;
  Path path;
  path.segment = text.substr(offset, kName);
  path.occurrence = 1;
  for (std::size_t at = before.find(path.segment); at != std::string_view::npos;
       at = before.find(path.segment, at + 1)) {
    if (!ends_name(at + kName)) continue;
    // A value, or the name of a segment that was glued to the one before it, or of the first.
    if (at == 0 || text[at - 1] != '\r') return std::nullopt;
    ++path.occurrence;
  }
  return path;
}

std::string to_string(const Path& path) {
  std::string out = path.segment;
  if (out.empty()) return out;
  if (path.occurrence > 1) out += "[" + std::to_string(path.occurrence) + "]";
  if (path.field == 0) return out;
  out += "-" + std::to_string(path.field);
  if (path.repetition > 1) out += "(" + std::to_string(path.repetition) + ")";
  if (path.component > 0) out += "." + std::to_string(path.component);
  if (path.subcomponent > 0) out += "." + std::to_string(path.subcomponent);
  return out;
}

Path absent_path(std::string_view text, engine::Origin order, FieldId field) {
  Message m;
  m.parse(text);
  return absent_path(m, order, field);
}

Path absent_path(const Message& m, engine::Origin order, FieldId field) {
  Path path;
  const Segment* detail = segment_with(m, order.offset);
  if (detail == nullptr) return path;
  path.segment = detail->name;
  path.occurrence = occurrence_of(m, *detail);
  const auto* carrier = std::ranges::find(kCarriers, field, &Carrier::field);
  if (carrier == kCarriers.end()) {
    path.field = detail_field(field, detail->name);
    return path;
  }
  // The one of the same order: the last before the detail for ORC and PID, the next for RXR, TQ1.
  const Segment* found = nullptr;
  for (const Segment& s : m.segments()) {
    const bool after = s.begin > detail->begin;
    if (after && s.name == "ORC") break;
    if (s.name == carrier->segment) found = &s;
  }
  if (found == nullptr) return path;
  path.segment = found->name;
  path.occurrence = occurrence_of(m, *found);
  path.field = carrier->number;
  return path;
}

void locate(const engine::RecordInfo& record, engine::Origin origin, engine::Place& place) {
  const std::string_view text = record.text;
  const std::size_t at = std::min<std::size_t>(origin.offset, text.size());
  std::uint64_t line = record.line;
  std::size_t begin = 0;
  for (std::size_t i = 0; i < at; ++i) {
    if (!is_end(text[i])) continue;
    if (text[i] == '\r' && i + 1 < text.size() && text[i + 1] == '\n') continue;
    ++line;
    begin = i + 1;
  }
  std::size_t end = begin;
  while (end < text.size() && !is_end(text[end]))
    ++end;
  place.line = line;
  const std::size_t column = characters(text.substr(begin, at - begin));
  place.column = column + 1;
  // A long segment is cut to what stands around the place.
  std::size_t from = begin;
  if (column > kExcerptWidth / 2) {
    for (std::size_t skip = column - kExcerptWidth / 2; skip > 0; --skip) {
      ++from;
      while (from < end && is_continuation(text[from]))
        ++from;
    }
  }
  std::size_t to = from;
  for (std::size_t shown = 0; shown < kExcerptWidth && to < end; ++shown) {
    ++to;
    while (to < end && is_continuation(text[to]))
      ++to;
  }
  place.excerpt = std::string(text.substr(from, to - from));
  place.caret = static_cast<std::uint32_t>(characters(text.substr(from, at - from)));
  const std::string_view marked =
      text.substr(at, std::min<std::size_t>(origin.length, end - std::min(at, end)));
  place.width = static_cast<std::uint32_t>(std::max<std::size_t>(1, characters(marked)));
}

}  // namespace meniscus::adapters::hl7v2
