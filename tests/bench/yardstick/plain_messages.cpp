// Contract: see plain_messages.hpp.
//
// Index:   where every `|` and every segment's end stands, found 32 bytes at a time where the
//          machine has AVX2; fields are then looked up by number, and their bytes looked at only
//          where a check wants them.
#include "tests/bench/yardstick/plain_messages.hpp"

#include <immintrin.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <vector>

#include "tests/bench/yardstick/plain_text.hpp"

namespace meniscus::bench {

namespace {

constexpr std::size_t kPiece = std::size_t{256} << 10U;  // stays in the second cache

void index_bytes(std::string_view text, std::size_t from, std::vector<std::uint32_t>& out) {
  for (std::size_t i = from; i < text.size(); ++i) {
    if (text[i] == '|' || text[i] == '\r') out.push_back(static_cast<std::uint32_t>(i));
  }
}

__attribute__((target("avx2"))) void index_avx2(std::string_view text,
                                                std::vector<std::uint32_t>& out) {
  const __m256i bar = _mm256_set1_epi8('|');
  const __m256i end = _mm256_set1_epi8('\r');
  std::size_t at = 0;
  for (; at + 32 <= text.size(); at += 32) {
    // NOLINTNEXTLINE(*-reinterpret-cast): the intrinsic's interface
    const __m256i bytes = _mm256_loadu_si256(reinterpret_cast<const __m256i*>(text.data() + at));
    auto found = static_cast<std::uint32_t>(_mm256_movemask_epi8(
        _mm256_or_si256(_mm256_cmpeq_epi8(bytes, bar), _mm256_cmpeq_epi8(bytes, end))));
    for (; found != 0; found &= found - 1)
      out.push_back(static_cast<std::uint32_t>(at) +
                    static_cast<std::uint32_t>(std::countr_zero(found)));
  }
  index_bytes(text, at, out);
}

void index_text(std::string_view text, std::vector<std::uint32_t>& out) {
  out.clear();
  if (__builtin_cpu_supports("avx2"))
    index_avx2(text, out);
  else
    index_bytes(text, 0, out);
}

/// A segment of a message, by the index.
class Segment {
 public:
  /// Takes the segment that begins at `begin` off the index; moves both behind it.
  Segment(std::string_view text, const std::vector<std::uint32_t>& index, std::size_t& at,
          std::uint32_t& begin)
      : text_(text), begin_(begin), first_(index.data() + at) {
    while (text[index[at]] != '\r')
      ++at;
    count_ = static_cast<std::size_t>(index.data() + at - first_);
    begin = index[at++] + 1;
  }
  [[nodiscard]] std::string_view name() const { return text_.substr(begin_, 3); }
  /// From 1; MSH is not asked for its fields by this numbering.
  [[nodiscard]] std::string_view field(std::size_t number) const {
    if (number > count_) return {};
    const std::uint32_t from = first_[number - 1] + 1;
    return text_.substr(from, first_[number] - from);
  }

 private:
  std::string_view text_;
  std::uint32_t begin_;
  const std::uint32_t* first_;
  std::size_t count_ = 0;
};

std::string_view component(std::string_view field) { return field.substr(0, field.find('^')); }

double number(std::string_view text) { return number_at(text); }

std::int64_t day(std::string_view text) {
  if (text.size() < 8) return kNoDay;
  return days_from(two_digits(text, 0) * 100 + two_digits(text, 2), two_digits(text, 4),
                   two_digits(text, 6));
}

void read_medicine(PlainOrder& order, const Segment& s) {
  order.substance = component(s.field(2));
  if (s.field(5) == "mg") order.dose = number(s.field(3));
  if (s.field(26) == "mg" && s.field(34) == "mL")
    order.strength = number(s.field(25)) / number(s.field(33));
}

void read_local(PlainOrder& order, const Segment& s) {
  order.vehicle = s.field(1);
  order.volume = plain(s.field(2), "mL");
  order.site = s.field(3);
  order.capacity = plain(s.field(5), "mL");
  order.graduation = plain(s.field(6), "mL");
  order.gauge = plain(s.field(7), "G");
  order.length = length(s.field(8));
  order.last = day(s.field(10));
  order.vial_kind = s.field(11);
  order.opened = day(s.field(12));
}

std::string_view route_of(std::string_view code) {
  if (code == "SC") return "subcutaneous";
  return code == "IM" ? "intramuscular" : code;
}

void read_segment(PlainOrder& order, const Segment& s) {
  const std::string_view name = s.name();
  if (name == "ORC") {
    order.id = component(s.field(2));
    order.placed = day(s.field(9));
  } else if (name == "RXE") {
    read_medicine(order, s);
  } else if (name == "RXR") {
    order.route = route_of(component(s.field(1)));
  } else if (name == "TQ1") {
    if (s.field(3) == "Q1W") order.every = 7;
    order.start = day(s.field(7));
  } else if (name == "AL1") {
    order.allergy = component(s.field(3));
    if (order.allergy == R"("")") order.allergy = {};
  } else if (name == "OBX") {
    if (component(s.field(3)) == "29463-7" && s.field(6) == "kg") order.weight = number(s.field(5));
  } else if (name == "ZIN") {
    read_local(order, s);
  }
}

std::size_t read_piece(std::string_view text, std::vector<std::uint32_t>& index,
                       const std::function<void(const PlainOrder&)>& next) {
  index_text(text, index);
  std::size_t count = 0;
  std::uint32_t begin = 0;
  PlainOrder order;
  for (std::size_t at = 0; at < index.size();) {
    const Segment segment(text, index, at, begin);
    if (segment.name() != "MSH") {
      read_segment(order, segment);
      continue;
    }
    if (count++ > 0) next(order);
    order = {};
  }
  if (count > 0) next(order);
  return count;
}

}  // namespace

std::size_t read_plain_messages(std::string_view messages,
                                const std::function<void(const PlainOrder&)>& next) {
  std::vector<std::uint32_t> index;
  std::size_t count = 0;
  while (!messages.empty()) {
    std::size_t end = messages.size();
    if (end > kPiece) {
      end = messages.rfind("\rMSH|", kPiece);
      end = end == std::string_view::npos ? messages.size() : end + 1;
    }
    count += read_piece(messages.substr(0, end), index, next);
    messages.remove_prefix(end);
  }
  return count;
}

}  // namespace meniscus::bench
