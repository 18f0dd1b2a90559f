// Splitting: one pass over the bytes finds the separators and ends, 16 at a time where the machine
// can; components are looked for only in the fields that somebody asks for.
#include "adapters/hl7v2/message.hpp"

#include <algorithm>
#include <array>
#include <bit>

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

#include "engine/base/ascii.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::ascii::is_blank;
using engine::ascii::is_digit;

bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }

bool is_header(std::string_view name) { return name == "MSH" || name == "FHS" || name == "BHS"; }

constexpr std::uint32_t kStep = 16;  // bytes looked at together

/// Segments that may begin inside another one when an end was lost, and what follows their name.
enum class Follows : std::uint8_t { Number, Control, Anything };
struct Glue {
  std::string_view name;
  Follows follows;
};
constexpr std::array<Glue, 14> kGlue = {{{"AL1", Follows::Number},
                                         {"DG1", Follows::Number},
                                         {"FT1", Follows::Number},
                                         {"NTE", Follows::Number},
                                         {"OBX", Follows::Number},
                                         {"ORC", Follows::Control},
                                         {"PID", Follows::Number},
                                         {"RXA", Follows::Number},
                                         {"RXC", Follows::Anything},
                                         {"RXD", Follows::Number},
                                         {"RXE", Follows::Anything},
                                         {"RXO", Follows::Anything},
                                         {"RXR", Follows::Anything},
                                         {"TQ1", Follows::Number}}};

bool may_begin_here(std::string_view field, std::string_view next) {
  if (field.size() != 3) return false;
  const auto* glue = std::ranges::find_if(kGlue, [field](const Glue& g) {
    return g.name[0] == field[0] && g.name[1] == field[1] && g.name[2] == field[2];
  });
  if (glue == kGlue.end()) return false;
  switch (glue->follows) {
    case Follows::Number:
      return !next.empty() && std::ranges::all_of(next, is_digit);
    case Follows::Control:
      return next.size() == 2 && std::ranges::all_of(next, is_upper);
    case Follows::Anything:
      return !next.empty();
  }
  return false;
}

#if defined(__SSE2__)
/// What stands in 16 bytes, one bit each.
struct Found {
  unsigned separators = 0;
  unsigned ends = 0;
  unsigned escapes = 0;
  unsigned high = 0;  // above 0x7F
};
Found look_at(const char* at, const Delimiters& d) {
  const __m128i bytes = _mm_loadu_si128(reinterpret_cast<const __m128i*>(at));
  const auto bits = [](__m128i found) { return static_cast<unsigned>(_mm_movemask_epi8(found)); };
  const auto equal = [bytes](char c) { return _mm_cmpeq_epi8(bytes, _mm_set1_epi8(c)); };
  Found found;
  found.separators = bits(equal(d.field));
  found.ends = bits(_mm_or_si128(equal('\r'), equal('\n'))) & ~found.separators;
  found.escapes = bits(equal(d.escape));
  found.high = bits(bytes);
  return found;
}
#endif

}  // namespace

bool looks_like_segment(std::string_view line, char field_separator) {
  if (line.size() < 3 || !is_upper(line[0])) return false;
  const auto named = [](char c) { return is_upper(c) || is_digit(c); };
  if (!named(line[1]) || !named(line[2])) return false;
  return line.size() == 3 || line[3] == field_separator;
}

std::string_view first_line(std::string_view text) {
  // Not find_first_of(): that searches its list anew for each character.
  const auto* const end =
      std::find_if(text.begin(), text.end(), [](char c) { return c == '\r' || c == '\n'; });
  return text.substr(0, static_cast<std::size_t>(end - text.begin()));
}

Delimiters Delimiters::from_header(std::string_view segment) {
  Delimiters d;
  if (segment.size() < 4) return d;
  d.field = segment[3];
  std::string_view rest = segment.substr(4);
  const std::size_t declared_end = std::min(rest.find(d.field), rest.size() - 1);
  rest = first_line(rest.substr(0, declared_end + 1));
  std::string_view declared = rest.substr(0, rest.find(d.field));
  if (declared.size() < 2 || declared.size() > 6) return d;  // missing: the usual ones
  d.component = declared[0];
  // The usual characters keep their usual meaning in any order: `^&~\` and `^~&` are slips that
  // real senders make, and a doubled escape (`^~\\&`) is one escape.
  if (declared[0] == '^' &&
      declared.find_first_not_of(std::string_view("^~\\&#")) == std::string_view::npos) {
    if (declared.size() >= 5 && declared.back() == '#') d.truncation = '#';
    return d;
  }
  d.repetition = declared[1];
  if (declared.size() > 2) d.escape = declared[2];
  if (declared.size() > 3) d.subcomponent = declared[3];
  if (declared.size() > 4) d.truncation = declared[4];
  return d;
}

std::size_t Message::find_past_hidden(std::string_view text, char separator) const {
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t hidden = hidden_at(text.substr(i), delimiters_.escape, characters_);
    if (hidden == 0 && text[i] == separator) return i;
    i += std::max<std::size_t>(hidden, 1);
  }
  return std::string_view::npos;
}

bool Message::repeats(std::string_view field) const {
  return find_in(field, delimiters_.repetition) != std::string_view::npos;
}

std::string_view Message::header_field(const Segment& segment, unsigned number) const {
  if (number == 0) return {};
  if (number == 1) return text_.substr(segment.begin + 3, segment.fields == 0 ? 0 : 1);
  return number - 1 > segment.fields ? std::string_view{} : plain_field(segment, number - 1);
}

const Segment* Message::find(std::string_view name) const {
  if (name.size() != 3) return nullptr;
  // Byte by byte: a call for three of them costs more.
  const auto at = std::ranges::find_if(segments_, [name](const Segment& s) {
    return s.name.size() == 3 && s.name[0] == name[0] && s.name[1] == name[1] &&
           s.name[2] == name[2];
  });
  return at == segments_.end() ? nullptr : &*at;
}

void Message::parse(std::string_view text) {
  text_ = text;
  has_high_bytes_ = false;
  has_escapes_ = false;
  characters_ = {};
  delimiters_ = Delimiters::from_header(text);
  has_cr_ = text.find('\r') != std::string_view::npos;
  start();
  scan();
  finish();
  const Segment* msh = find("MSH");
  if (msh == nullptr) return;
  characters_ = character_set(field(*msh, 18), delimiters_.repetition);
  if (!characters_.hides_separators()) return;
  start();
  scan_past_hidden();
  finish();
}

void Message::start() {
  segments_.clear();
  count_ = 0;
  open_ = 0;
  open_first_ = 0;
}

void Message::finish() {
  close_segment(static_cast<std::uint32_t>(text_.size()));
  split_glued();
}

bool Message::ends_segment(std::uint32_t at) const {
  if (text_[at] == '\r' || !has_cr_) return true;
  std::string_view after = text_.substr(at + 1);
  if (after.empty() || after[0] == '\r' || after[0] == '\n') return true;
  return looks_like_segment(after.substr(0, 4), delimiters_.field);
}

/// A field separator, or what may be the end of a segment.
void Message::take(std::uint32_t at) {
  if (text_[at] != delimiters_.field) return take_end(at);
  if (count_ == starts_.size()) starts_.resize(2 * starts_.size() + kStep);
  starts_[count_++] = at + 1;
}

void Message::take_end(std::uint32_t at) {
  if (!ends_segment(at)) return;
  close_segment(at);
  open_ = at + 1;
}

void Message::scan_past_hidden() {
  for (std::size_t i = 0; i < text_.size();) {
    const std::size_t hidden = hidden_at(text_.substr(i), delimiters_.escape, characters_);
    const char c = text_[i];
    if (hidden == 0 && (c == delimiters_.field || c == '\r' || c == '\n'))
      take(static_cast<std::uint32_t>(i));
    i += std::max<std::size_t>(hidden, 1);
  }
}

/// 16 bytes at a time where the machine can; gives how far it came.
std::uint32_t Message::scan_blocks(std::uint32_t declared) {
#if defined(__SSE2__)
  const auto size = static_cast<std::uint32_t>(text_.size());
  unsigned high = 0;
  unsigned escapes = 0;
  std::uint32_t i = 0;
  for (; i + kStep <= size; i += kStep) {
    const Found found = look_at(text_.data() + i, delimiters_);
    high |= found.high;
    escapes |= i == 0 ? found.escapes >> declared : found.escapes;
    if (starts_.size() - count_ < kStep) starts_.resize(2 * starts_.size() + kStep);
    for (unsigned bits = found.separators | found.ends; bits != 0; bits &= bits - 1) {
      const unsigned bit = bits & -bits;
      const std::uint32_t at = i + static_cast<std::uint32_t>(std::countr_zero(bit));
      if ((bit & found.ends) != 0) {
        take_end(at);
      } else {
        starts_[count_++] = at + 1;
      }
    }
  }
  has_high_bytes_ = high != 0;
  has_escapes_ = escapes != 0;
  return i;
#else
  static_cast<void>(declared);
  return 0;
#endif
}

void Message::scan() {
  const auto size = static_cast<std::uint32_t>(text_.size());
  // MSH-2 declares the escape, which is no use of it.
  std::uint32_t declared = 0;
  if (text_.starts_with("MSH") && size > 4)
    declared =
        static_cast<std::uint32_t>(std::min<std::size_t>(text_.find(delimiters_.field, 4), kStep));
  for (std::uint32_t i = scan_blocks(declared); i < size; ++i) {
    const char c = text_[i];
    if (static_cast<unsigned char>(c) > 0x7F) has_high_bytes_ = true;
    if (c == delimiters_.escape && i >= declared) has_escapes_ = true;
    if (c == delimiters_.field || c == '\r' || c == '\n') take(i);
  }
}

void Message::close_segment(std::uint32_t end) {
  while (open_ < end && is_blank(text_[open_]))
    ++open_;
  const std::string_view line = text_.substr(open_, end - open_);
  Segment s;
  s.begin = open_;
  s.end = end;
  s.first = open_first_;
  s.fields = count_ - open_first_;
  open_first_ = count_;
  if (line.empty()) return;
  if (looks_like_segment(line, delimiters_.field)) s.name = line.substr(0, 3);
  s.header = is_header(s.name);
  segments_.push_back(s);
}

bool Message::is_any_glued() const {
  for (const Segment& s : segments_) {
    if (s.name == "MSH") continue;
    for (unsigned n = 2; n < s.fields; ++n) {
      const std::uint32_t* const start = &starts_[s.first + n - 1];
      const bool three = start[1] - start[0] == 4;  // and a separator
      if ((three || s.header) && may_begin_here(field(s, n), field(s, n + 1))) return true;
    }
  }
  return false;
}

void Message::split_glued() {
  if (!is_any_glued()) return;
  rest_.clear();
  for (Segment s : segments_) {
    for (unsigned n = 2; n < s.fields && s.name != "MSH"; ++n) {
      const std::string_view here = field(s, n);
      if (here.size() != 3 || !may_begin_here(here, field(s, n + 1))) continue;
      Segment tail = s;
      tail.glued = true;
      tail.header = false;
      tail.name = here;
      tail.begin = starts_[s.first + n - 1];
      tail.first = s.first + n;
      tail.fields = s.fields - n;
      s.end = tail.begin - 1;
      s.fields = n - 1;
      rest_.push_back(s);
      s = tail;
      n = 1;
    }
    rest_.push_back(s);
  }
  segments_.swap(rest_);
}

}  // namespace meniscus::adapters::hl7v2
