// Units from text: one probe for the common spellings, UCUM's grammar for the rest.
//
// Grammar: [/] component {(. | /) component}; a component is an atom with prefix and exponent, a
//          whole factor, an annotation or a bracketed term.  Operators have one rank and bind from
//          the left, so `mg/kg.d` is (mg/kg).d.  Source: UCUM, sections 2.1 to 2.5.
// Stricter than UCUM: two whole factors with only a point between them (`0.5.mL`, `1.5.mL`) are
//          refused, as they are read as a decimal number by people; so is a factor of zero.
// Limits:  64 bytes, 12 components, 4 levels of brackets; exponents of one or two digits.
#include <array>
#include <cstring>
#include <optional>

#include "engine/quantity/unit_table.hpp"

#include "engine/base/ascii.hpp"

namespace meniscus::engine {
namespace detail {
namespace {

using ascii::is_digit;

constexpr std::size_t kLongest = 64;
constexpr int kMostComponents = 12;
constexpr int kDeepest = 4;
constexpr int kLargestExponent = 31;

bool is_operator(char c) { return c == '.' || c == '/'; }

Error unknown(std::string_view text, UnitSet set) {
  std::string message = "unknown unit `" + std::string(text.substr(0, 40)) + "`";
  const bool stones = text == "st" || text == "stone" || text == "stones";
  // Of `11 st` the nearest spelling is that of a viscosity, and a weight is meant.
  const std::string nearest = stones ? std::string() : nearest_unit(text, set);
  if (stones) message += "; stones are not read: write `kg` or `lb`";
  if (!nearest.empty()) message += "; nearest is `" + nearest + "`";
  return {Errc::UnknownUnit, std::move(message), 0, static_cast<std::uint32_t>(text.size())};
}

Error syntax(std::string_view text, std::string_view why) {
  return {Errc::Syntax, "`" + std::string(text.substr(0, 40)) + "` is no unit: " + std::string(why),
          0, static_cast<std::uint32_t>(text.size())};
}

/// The product so far; exponents as whole numbers, so that no field of a Dimension overflows.
struct Product {
  double factor = 1;
  double divisor = 1;
  std::array<int, kBaseCount> exponents{};

  void take(const UnitRow& row, int exponent) {
    for (int i = 0; i < kBaseCount; ++i) {
      const int power = row.dimension.exponent(static_cast<Base>(i)) * exponent;
      const bool patient = power < 0 && (row.flags & kPatient) != 0;
      exponents[static_cast<std::size_t>(patient ? static_cast<int>(Base::BodyMass) : i)] += power;
    }
    scale(row.factor, row.divisor, exponent);
  }
  void scale(double up, double down, int exponent) {
    for (int i = 0; i < exponent; ++i) {
      factor *= up;
      divisor *= down;
    }
    for (int i = 0; i > exponent; --i) {
      factor *= down;
      divisor *= up;
    }
  }
  [[nodiscard]] std::optional<Dimension> dimension() const {
    Dimension d;
    for (int i = 0; i < kBaseCount; ++i) {
      const int power = exponents[static_cast<std::size_t>(i)];
      if (power > kLargestExponent || power < -kLargestExponent) return std::nullopt;
      d = d * Dimension::of(static_cast<Base>(i), power);
    }
    return d;
  }
};

/// Parses one unit; the first error stands and ends it.
class UnitParser {
 public:
  UnitParser(std::string_view text, UnitSet set) : text_(text), set_(set) {}

  Result<Ratio> run() {
    const bool inverted = take('/');
    term(inverted ? -1 : 1, 1, 0);
    if (!failed() && at_ != text_.size()) fail(syntax(text_, "there is text after its end"));
    if (failed()) return *error_;
    if (offset_row_ != nullptr) {
      if (components_ != 1 || inverted)
        return syntax(text_, "a scale with an offset stands alone, not in a product");
      return Ratio{offset_row_->factor, offset_row_->divisor, offset_row_->offset,
                   offset_row_->dimension};
    }
    const std::optional<Dimension> dimension = product_.dimension();
    if (!dimension) return syntax(text_, "an exponent is too large");
    return Ratio{product_.factor, product_.divisor, 0, *dimension};
  }

 private:
  [[nodiscard]] bool failed() const { return error_.has_value(); }
  void fail(Error error) {
    if (!error_) error_ = std::move(error);
  }
  [[nodiscard]] char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  bool take(char c) {
    if (at_ >= text_.size() || text_[at_] != c) return false;
    ++at_;
    return true;
  }

  /// `first` is the sign of the first part's exponents, `rest` of what is multiplied afterwards.
  void term(int first, int rest, int depth) {
    bool after_factor = component(first, depth);
    while (!failed() && is_operator(peek())) {
      const bool divides = peek() == '/';
      ++at_;
      const bool factor = component(divides ? -rest : rest, depth);
      if (factor && after_factor && !divides)
        fail(syntax(text_, "a unit holds whole factors only, no decimal number"));
      after_factor = factor;
    }
  }

  /// True for a whole factor.
  bool component(int sign, int depth) {
    if (failed()) return false;
    if (++components_ > kMostComponents) fail(syntax(text_, "it has too many parts"));
    if (take('(')) {
      bracket(sign, depth);
      return false;
    }
    if (peek() == '{') {
      annotation();
      return false;
    }
    const std::string_view part = component_text();
    if (part.empty()) {
      fail(syntax(text_, "a unit is missing beside an operator or bracket"));
      return false;
    }
    const bool factor = is_digit(part[0]) && whole_factor(part, sign);
    if (!factor && !failed()) symbol(part, sign);
    if (peek() == '{') annotation();
    return factor;
  }

  void bracket(int sign, int depth) {
    if (depth + 1 > kDeepest) return fail(syntax(text_, "its brackets are too deep"));
    term(sign, sign, depth + 1);
    if (!take(')')) fail(syntax(text_, "a bracket is not closed"));
  }

  void annotation() {
    const std::size_t end = text_.find_first_of("{}", at_ + 1);
    if (end == std::string_view::npos || text_[end] != '}')
      return fail(syntax(text_, "an annotation is not closed"));
    for (std::size_t i = at_ + 1; i < end; ++i)
      if (text_[i] < '!' || text_[i] > '~')
        return fail(syntax(text_, "an annotation holds printable ASCII without blanks"));
    at_ = end + 1;
  }

  /// Up to the next operator, bracket or annotation; square brackets are passed over as a whole.
  std::string_view component_text() {
    const std::size_t start = at_;
    while (at_ < text_.size() && !is_operator(text_[at_]) &&
           std::strchr("(){}", text_[at_]) == nullptr) {
      if (text_[at_] == '[') {
        const std::size_t close = text_.find(']', at_);
        if (close == std::string_view::npos) {
          fail(syntax(text_, "a square bracket is not closed"));
          return {};
        }
        at_ = close;
      }
      ++at_;
    }
    return text_.substr(start, at_ - start);
  }

  bool whole_factor(std::string_view part, int sign) {
    double value = 0;
    for (const char c : part) {
      if (!is_digit(c)) return false;
      value = value * 10 + (c - '0');
    }
    if (value == 0 || part.size() > 15) fail(syntax(text_, "a factor is zero or too large"));
    product_.scale(value, 1, sign);
    return true;
  }

  void symbol(std::string_view part, int sign) {
    if (set_ != UnitSet::Ucum) {
      if (const UnitRow* row = spelling(part)) return take_row(*row, sign);
      if (set_ == UnitSet::Rule) return fail(unknown(part, set_));
      if (fail_if_doubtful(part)) return;
    }
    if (ucum_atom(part, sign)) return;
    if (set_ == UnitSet::Order) {
      if (const UnitRow* row = in_any_case(part)) return take_row(*row, sign);
      std::string_view atom = part;
      if (take_exponent(atom) != 0 && fail_if_doubtful(atom)) return;  // `K2` is as unclear as `K`
    }
    fail(unknown(part, set_));
  }

  bool fail_if_doubtful(std::string_view part) {
    const std::string_view why = why_doubtful(part);
    if (!why.empty())
      fail({Errc::Ambiguous,
            "`" + std::string(part) + "` can be read in two ways: " + std::string(why), 0,
            static_cast<std::uint32_t>(part.size())});
    return !why.empty();
  }

  [[nodiscard]] const UnitRow* spelling(std::string_view part) const {
    const UnitRow* row = find_row(part, flag_of(set_));
    return row != nullptr && (row->flags & kCompound) == 0 ? row : nullptr;
  }
  [[nodiscard]] static const UnitRow* in_any_case(std::string_view part) {
    std::array<char, kLongest> lowered{};
    for (std::size_t i = 0; i < part.size(); ++i)
      lowered[i] = part[i] >= 'A' && part[i] <= 'Z' ? static_cast<char>(part[i] + 32) : part[i];
    return find_row({lowered.data(), part.size()}, kInOrder | kAnyCase);
  }
  void take_row(const UnitRow& row, int exponent) {
    if (row.offset != 0) {
      if (exponent != 1) return fail(syntax(text_, "a scale with an offset takes no exponent"));
      offset_row_ = &row;
      return;
    }
    product_.take(row, exponent);
  }

  /// An exponent at the end of `part`, taken off it: 1 where there is none, 0 where it is wrong.
  static int take_exponent(std::string_view& part) {
    std::size_t digits = 0;
    while (digits < part.size() && is_digit(part[part.size() - 1 - digits]))
      ++digits;
    if (digits == 0) return 1;
    if (digits > 2) return 0;
    int value = 0;
    for (std::size_t i = part.size() - digits; i < part.size(); ++i)
      value = value * 10 + (part[i] - '0');
    part.remove_suffix(digits);
    if (!part.empty() && (part.back() == '-' || part.back() == '+')) {
      if (part.back() == '-') value = -value;
      part.remove_suffix(1);
    }
    return value;
  }

  /// `[prefix]atom[exponent]`, `10*6`, `10^6`.  False when it is none.
  bool ucum_atom(std::string_view part, int sign) {
    if (part.substr(0, 3) == "10*" || part.substr(0, 3) == "10^") return power_of_ten(part, sign);
    const int exponent = take_exponent(part) * sign;
    if (exponent == 0 || part.empty()) return false;
    const std::uint8_t in_set = flag_of(set_);
    const UnitRow* row = find_row(part, in_set);
    if (row != nullptr && (row->flags & kCompound) == 0) {
      take_row(*row, exponent);
      return true;
    }
    for (const Prefix& prefix : prefixes()) {
      if (part.substr(0, prefix.text.size()) != prefix.text) continue;
      row = find_row(part.substr(prefix.text.size()), in_set | kMetric);
      if (row == nullptr || (row->flags & kInUcum) == 0) continue;
      product_.scale(prefix.factor, prefix.divisor, exponent);
      product_.take(*row, exponent);
      return true;
    }
    return false;
  }

  bool power_of_ten(std::string_view part, int sign) {
    std::string_view rest = part.substr(2);
    const int exponent = rest.size() == 1 ? 1 : take_exponent(rest);
    if (exponent == 0 || rest.size() != 1) return false;
    product_.scale(10, 1, exponent * sign);
    return true;
  }

  std::string_view text_;
  UnitSet set_;
  std::size_t at_ = 0;
  int components_ = 0;
  Product product_;
  const UnitRow* offset_row_ = nullptr;
  std::optional<Error> error_;
};

/// An order's unit without what people put around operators: `mg per mL`, `mg / mL`, `in.`.
class Tidied {
 public:
  explicit Tidied(std::string_view text) {
    if (text.size() > kLongest) return;
    for (std::size_t i = 0; i < text.size(); ++i) {
      if (text.substr(i, 5) == " per ") {
        drop_blanks();
        put('/');
        i += 4;
      } else if (is_operator(text[i])) {
        drop_blanks();
        put(text[i]);
      } else if (text[i] != ' ' || (size_ != 0 && !is_operator(buffer_[size_ - 1]))) {
        put(text[i]);
      }
    }
    if (size_ > 1 && buffer_[size_ - 1] == '.') --size_;  // `mg.`: read, and found by a rule
    drop_blanks();
  }
  [[nodiscard]] std::string_view text() const { return {buffer_.data(), size_}; }

 private:
  void put(char c) { buffer_[size_++] = c; }
  void drop_blanks() {
    while (size_ != 0 && buffer_[size_ - 1] == ' ')
      --size_;
  }
  std::array<char, kLongest> buffer_{};
  std::size_t size_ = 0;
};

}  // namespace

Result<Ratio> parse_ratio(std::string_view text, UnitSet set) {
  if (const UnitRow* row = find_row(text, flag_of(set)))
    return Ratio{row->factor, row->divisor, row->offset, row->dimension};
  if (text.empty()) return Error{Errc::MissingUnit, "a unit is missing", 0, 0};
  if (text.size() > kLongest) return syntax(text, "it is too long");
  if (std::memchr(text.data(), '\0', text.size()) != nullptr)
    return syntax(text, "it holds a NUL byte");
  if (set != UnitSet::Order) return UnitParser(text, set).run();
  const Tidied tidied(text);
  if (const UnitRow* row = find_row(tidied.text(), kInOrder))
    return Ratio{row->factor, row->divisor, row->offset, row->dimension};
  return UnitParser(tidied.text(), set).run();
}

}  // namespace detail

Result<Unit> parse_unit(std::string_view text, UnitSet set) {
  const Result<detail::Ratio> ratio = detail::parse_ratio(text, set);
  if (!ratio) return ratio.error();
  return Unit{ratio->factor / ratio->divisor, ratio->offset, ratio->dimension};
}

}  // namespace meniscus::engine
