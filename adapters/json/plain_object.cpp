// Contract: see plain_object.hpp.
#include "adapters/json/plain_object.hpp"
#include "engine/order/said_none.hpp"

#include <algorithm>
#include <bit>
#include <cstring>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

namespace meniscus::adapters {

using engine::FieldId;
using engine::FieldKind;
using engine::Value;

namespace {

/// The first byte from `at` on that ends a plain text: a quote, a backslash, a control character or
/// one beyond ASCII.  Many bytes at once; the padding behind the record stops it.
#ifdef __SSE2__
const char* text_end(const char* at) {
  while (true) {
    const __m128i bytes = _mm_loadu_si128(reinterpret_cast<const __m128i*>(at));  // NOLINT(*-cast)
    const __m128i quote = _mm_cmpeq_epi8(bytes, _mm_set1_epi8('"'));
    const __m128i slash = _mm_cmpeq_epi8(bytes, _mm_set1_epi8('\\'));
    const __m128i other = _mm_cmplt_epi8(bytes, _mm_set1_epi8(0x20));  // bytes have signs here
    const int stops = _mm_movemask_epi8(_mm_or_si128(_mm_or_si128(quote, slash), other));
    if (stops != 0) return at + std::countr_zero(static_cast<unsigned>(stops));
    at += sizeof bytes;
  }
}
#else
const char* text_end(const char* at) {
  while (*at != '"' && *at != '\\' && *at >= 0x20 && *at <= 0x7F)
    ++at;
  return at;
}
#endif

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Behind the digits at `at`; `at` itself when there are none.
const char* digits_end(const char* at) {
  while (is_digit(*at))
    ++at;
  return at;
}

/// Behind the JSON number at `at` (RFC 8259, section 6); null when there is none.
const char* number_end(const char* at) {
  if (*at == '-') ++at;
  const char* end = digits_end(at);
  if (end == at || (*at == '0' && end != at + 1)) return nullptr;
  if (*end == '.') {
    const char* const fraction = end + 1;
    end = digits_end(fraction);
    if (end == fraction) return nullptr;
  }
  if (*end == 'e' || *end == 'E') {
    const char* exponent = end + 1;
    if (*exponent == '+' || *exponent == '-') ++exponent;
    end = digits_end(exponent);
    if (end == exponent) return nullptr;
  }
  return end;
}

bool is_blank(char c) { return c == ' ' || c == '\n' || c == '\t' || c == '\r'; }

const char* skip_blanks(const char* at) {
  while (is_blank(*at))
    ++at;
  return at;
}

/// Behind `word`; null when it does not stand here.
const char* take(const char* at, std::string_view word) {
  return std::memcmp(at, word.data(), word.size()) == 0 ? at + word.size() : nullptr;
}

constexpr std::uint8_t kNoField = 0xFE;
static_assert(engine::kFieldCount < kNoField);

std::string_view between(const char* from, const char* to) {
  return {from, static_cast<std::size_t>(to - from)};
}

}  // namespace

void BetweenGuess::learn(std::uint8_t before, std::string_view between, Next next) {
  if (between.empty() || between.size() > kLongest) return;
  Guess* const guess = &guesses_[2 * std::size_t{before}];
  guess[1] = guess[0];
  guess[0] = {};
  std::memcpy(guess[0].bytes.data(), between.data(), between.size());
  std::array<char, kLongest> mask{};
  std::memset(mask.data(), 0xFF, between.size());
  std::memcpy(guess[0].mask.data(), mask.data(), mask.size());
  guess[0].next = next;
  guess[0].next.length = static_cast<std::uint8_t>(between.size());
}

std::size_t PlainObject::read(JsonTarget& target) {
  target_ = &target;
  const std::string_view record = target.record;
  const char* const end = record.starts_with('{') ? members() : nullptr;
  if (end == nullptr || end > record.data() + record.size()) {
    pause_ = next_pause_;
    next_pause_ = std::min(2 * next_pause_, kMostPause);
    return 0;
  }
  next_pause_ = 1;
  return static_cast<std::size_t>(end - record.data());
}

/// From value to value, whatever object it stands in, to the end of the record.
const char* PlainObject::members() {
  const char* at = target_->record.data();
  std::uint8_t before = BetweenGuess::kStart;
  Next next;
  while (true) {
    if (const Next* const guessed = guess_.find(before, next.group, at)) {
      next = *guessed;
      if (next.opened != kRootGroup) target_->group_stands_at(next.opened, at + next.opens_at);
      at += next.length;
    } else {
      at = to_next(at, before, next);
      if (at == nullptr) return nullptr;
    }
    if (next.field == BetweenGuess::kEnd) return at;
    at = field(at, static_cast<FieldId>(next.field));
    if (at == nullptr) return nullptr;
    before = next.field;
  }
}

/// Reads what stands before the next value, and remembers it.  `next` says where the last one was.
const char* PlainObject::to_next(const char* at, std::uint8_t before, Next& next) {
  const char* const from = at;
  from_ = from;
  guessable_ = true;
  next.opened = kRootGroup;
  next.behind = next.group;
  bool key_is_next = before == BetweenGuess::kStart;
  if (key_is_next) at = skip_blanks(at + 1);
  do {
    if (!key_is_next) {
      at = to_key(at, next);
      if (at == nullptr || next.field == BetweenGuess::kEnd) break;
    }
    at = key(at, next, key_is_next);
  } while (at != nullptr && next.field == kNoField);
  if (at != nullptr && guessable_)
    guess_.learn(before, {from, static_cast<std::size_t>(at - from)}, next);
  return at;
}

/// From behind a value to the next key's quote, or to the end of the record.
const char* PlainObject::to_key(const char* at, Next& next) {
  at = skip_blanks(at);
  if (*at == '}' && next.group != kRootGroup) {
    next.group = kRootGroup;
    at = skip_blanks(at + 1);
  }
  if (*at == '}' && next.group == kRootGroup) {
    next.field = BetweenGuess::kEnd;
    return at + 1;
  }
  next.field = kNoField;
  return *at == ',' ? skip_blanks(at + 1) : nullptr;
}

/// A key and its colon: up to a field's value, or behind the brace of a group, or behind its null.
const char* PlainObject::key(const char* at, Next& next, bool& key_is_next) {
  if (*at != '"') return nullptr;
  const char* const end = text_end(++at);
  if (*end != '"') return nullptr;
  const JsonKey key = JsonKeys::instance().find(next.group, between(at, end));
  at = skip_blanks(end + 1);
  if (*at != ':') return nullptr;
  at = skip_blanks(at + 1);
  key_is_next = false;
  switch (key.kind) {
    case JsonKey::Kind::Unknown:
      return nullptr;
    case JsonKey::Kind::Field:
      next.field = key.id;
      return at;
    case JsonKey::Kind::Group:
      next.field = kNoField;
      return group(at, key.id, next, key_is_next);
  }
  return nullptr;
}

const char* PlainObject::group(const char* at, std::uint8_t group, Next& next, bool& key_is_next) {
  target_->group_stands_at(group, at);
  if (*at != '{') {
    const char* const end = take(at, "null");
    if (end != nullptr) target_->no_group(group, between(at, end));
    guessable_ = false;
    return end;
  }
  guessable_ = guessable_ && next.opened == kRootGroup;
  next.group = next.opened = group;
  next.opens_at = static_cast<std::uint8_t>(std::min<std::ptrdiff_t>(at - from_, 0xFF));
  at = skip_blanks(at + 1);
  key_is_next = *at != '}';
  return at;
}

const char* PlainObject::field(const char* at, FieldId field) {
  JsonTarget& target = *target_;
  if (target.seen[engine::index(field)]) return nullptr;
  target.seen[engine::index(field)] = true;
  if (*at != '"') return literal(at, field);
  const char* const end = text_end(++at);
  if (*end != '"') return nullptr;
  const std::string_view content = between(at, end);
  engine::set_known_field(target.context, *target.block, target.lane, field, content,
                          target.origin_of(content));
  return end + 1;
}

const char* PlainObject::literal(const char* at, FieldId field) {
  switch (*at) {
    case '[':
      return list(at, field);
    case 'n': {
      const char* const end = take(at, "null");
      if (end != nullptr) target_->set(field, engine::said_none(field), between(at, end));
      return end;
    }
    case 't':
    case 'f': {
      if (engine::info(field).kind != FieldKind::YesNo) return nullptr;
      const char* const end = take(at, *at == 't' ? "true" : "false");
      if (end != nullptr) target_->set(field, Value::yes_no(*at == 't'), between(at, end));
      return end;
    }
    default:
      return number(at, field);
  }
}

const char* PlainObject::number(const char* at, FieldId field) {
  const char* const end = takes_number(engine::info(field).kind) ? number_end(at) : nullptr;
  if (end == nullptr) return nullptr;
  JsonTarget& target = *target_;
  const std::string_view token = between(at, end);
  engine::set_known_field(target.numbers, *target.block, target.lane, field, token,
                          target.origin_of(token));
  return end;
}

const char* PlainObject::list(const char* at, FieldId field) {
  const char* const from = at;
  target_->items.clear();
  at = skip_blanks(at + 1);
  while (*at == '"' && engine::info(field).kind == FieldKind::Words) {
    const char* const end = text_end(at + 1);
    if (*end != '"') return nullptr;
    target_->list_word(field, between(at + 1, end), between(at, end + 1));
    at = skip_blanks(end + 1);
    if (*at == ']') break;
    if (*at != ',') return nullptr;
    at = skip_blanks(at + 1);
    if (*at != '"') return nullptr;
  }
  if (*at != ']') return nullptr;
  target_->set_list(field, between(from, at + 1));
  return at + 1;
}

}  // namespace meniscus::adapters
