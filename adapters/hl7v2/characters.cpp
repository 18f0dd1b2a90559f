// See characters.hpp.
#include "adapters/hl7v2/characters.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

#include "engine/base/ascii.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::ascii::trimmed;

constexpr char kEsc = '\x1B';
constexpr std::size_t kLongestShift = 4;  // ESC, two intermediate bytes, the final one
constexpr std::size_t kMostBytes = 4;     // of UTF-8 for a byte of any of the sets

// Table 0211.  The sets of Japan come mixed, and one codec reads them all.
constexpr std::array<CharacterSet, 19> kSets = {{{"8859/1", "ISO-8859-1"},
                                                 {"8859/2", "ISO-8859-2"},
                                                 {"8859/3", "ISO-8859-3"},
                                                 {"8859/4", "ISO-8859-4"},
                                                 {"8859/5", "ISO-8859-5"},
                                                 {"8859/6", "ISO-8859-6"},
                                                 {"8859/7", "ISO-8859-7"},
                                                 {"8859/8", "ISO-8859-8"},
                                                 {"8859/9", "ISO-8859-9"},
                                                 {"8859/15", "ISO-8859-15"},
                                                 {"ISO IR14", "ISO-2022-JP-2", true},
                                                 {"ISO IR87", "ISO-2022-JP-2", true},
                                                 {"ISO IR159", "ISO-2022-JP-2", true},
                                                 {"JAS2020", "ISO-2022-JP-2", true},
                                                 {"JIS X 0202", "ISO-2022-JP-2", true},
                                                 {"KS X 1001", "EUC-KR"},
                                                 {"CNS 11643-1992", "EUC-TW"},
                                                 {"GB 18030-2000", "GB18030", false, true},
                                                 {"BIG-5", "BIG5", false, true}}};

unsigned char byte(char c) { return static_cast<unsigned char>(c); }

bool is_utf8(std::string_view name) {
  return name.empty() || name == "ASCII" || name == "ISO IR6" ||
         name.find("UTF-8") != std::string_view::npos;
}

bool is_intermediate(char c) { return c >= 0x20 && c <= 0x2F; }
bool is_final(char c) { return c >= 0x30 && c <= 0x7E; }
bool is_half(char c) { return c > 0x20 && c < 0x7F; }

/// Length of ESC, one or two intermediate bytes and a final one; 0 when it is none.
std::size_t length_of_escape(std::string_view text) {
  std::size_t n = 1;
  while (n < text.size() && n + 1 < kLongestShift && is_intermediate(text[n]))
    ++n;
  return n > 1 && n < text.size() && is_final(text[n]) ? n + 1 : 0;
}

int hex_digit(char c) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  const std::size_t at = digits.find(c);
  return at == std::string_view::npos ? -1 : static_cast<int>(at);
}

/// `\M2442\` as ESC and its bytes; its length in `text`, or 0.
std::size_t length_of_spelled(std::string_view text, char escape, std::string& bytes) {
  if (text.size() < 2 || text[0] != escape || (text[1] != 'C' && text[1] != 'M')) return 0;
  const std::size_t close = text.find(escape, 2);
  if (close == std::string_view::npos || close % 2 != 0 || close > 2 * kLongestShift) return 0;
  bytes = kEsc;
  for (std::size_t i = 2; i < close; i += 2) {
    const int high = hex_digit(text[i]);
    const int low = hex_digit(text[i + 1]);
    if (high < 0 || low < 0) return 0;
    bytes += static_cast<char>(high * 16 + low);
  }
  return length_of_escape(bytes) == bytes.size() ? close + 1 : 0;
}

/// The shift alone, without what follows it.
Shift bare_shift_at(std::string_view text, char escape) {
  Shift shift;
  if (text.empty()) return shift;
  if (text[0] == kEsc) {
    shift.length = length_of_escape(text);
    shift.bytes = text.substr(0, shift.length);
  } else {
    shift.length = length_of_spelled(text, escape, shift.bytes);
  }
  return shift;
}

/// `$` shifts to a set of pairs; with `)`, `*` or `+` behind it, to one that is not used yet.
bool is_to_pairs(std::string_view bytes) {
  return bytes.size() > 2 && bytes[1] == '$' && (bytes.size() == 3 || bytes[2] == '(');
}

}  // namespace

CharacterSet character_set(std::string_view msh18, char repetition_separator) {
  while (!msh18.empty()) {
    const std::size_t end = std::min(msh18.find(repetition_separator), msh18.size());
    const std::string_view name = trimmed(msh18.substr(0, end));
    if (!is_utf8(name)) {
      const auto* known = std::ranges::find(kSets, name, &CharacterSet::name);
      CharacterSet set = known == kSets.end() ? CharacterSet{name, "", true, false} : *known;
      set.name = name;
      return set;
    }
    msh18.remove_prefix(std::min(end + 1, msh18.size()));
  }
  return {};
}

Shift shift_at(std::string_view text, char escape) {
  Shift shift = bare_shift_at(text, escape);
  shift.to_pairs = is_to_pairs(shift.bytes);
  if (!shift.to_pairs) return shift;
  const std::string_view rest = text.substr(shift.length);
  std::size_t n = 0;
  while (bare_shift_at(rest.substr(n), escape).length == 0) {
    if (n + 1 >= rest.size() || !is_half(rest[n]) || !is_half(rest[n + 1])) return shift;
    n += 2;
  }
  shift.pairs = n;
  return shift;
}

std::size_t hidden_at(std::string_view text, char escape, const CharacterSet& set) {
  if (set.shifts) {
    const Shift shift = shift_at(text, escape);
    return shift.length + shift.pairs;
  }
  const bool pair = set.pairs && text.size() > 1 && byte(text[0]) > 0x80 && byte(text[1]) > 0x2F;
  return pair ? 2 : 0;
}

std::optional<std::string> Converter::to_utf8(std::string_view text, const char* codec) {
  if (codec_ != codec) {
    codec_ = codec;
    const iconv_t opened = iconv_open("UTF-8", codec);
    const bool failed = reinterpret_cast<std::intptr_t>(opened) == -1;
    handle_.reset(failed ? nullptr : opened);
  }
  if (handle_ == nullptr) return std::nullopt;
  iconv(handle_.get(), nullptr, nullptr, nullptr, nullptr);  // forgets the shifts of another text
  std::string out(text.size() * kMostBytes, '\0');
  char* from = const_cast<char*>(text.data());  // iconv only reads it
  std::size_t left = text.size();
  char* to = out.data();
  std::size_t room = out.size();
  if (iconv(handle_.get(), &from, &left, &to, &room) == static_cast<std::size_t>(-1)) return {};
  out.resize(out.size() - room);
  return out;
}

}  // namespace meniscus::adapters::hl7v2
