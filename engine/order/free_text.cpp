// Figures and words in free text (contract: free_text.hpp).
#include "engine/order/free_text.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "engine/order/aside_text.hpp"
#include "engine/order/per_time_text.hpp"
#include "engine/order/place_text.hpp"
#include "engine/order/value_text.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

/// Figures after these words are limits or preparations, not what is given.
constexpr std::array<std::string_view, 24> kNotGiven = {
    "max",     "maximum",  "exceed",        "exceeding", "dilute", "reconstitute", "mix",    "add",
    "with",    "discard",  "waste",         "expel",     "total",  "least",        "limit",  "than",
    "diluted", "dissolve", "reconstituted", "dissolved", "mixed",  "quantity",     "supply", "qty"};
/// What is given follows these, whatever stands before them.
constexpr std::array<std::string_view, 3> kGiven = {"inject", "give", "administer"};
/// `draw 0.3 mL, expel to 0.25 mL`.
constexpr std::array<std::string_view, 4> kDraw = {"draw", "withdraw", "aspirate", "up"};
constexpr std::array<std::string_view, 4> kExpel = {"expel", "discard", "waste", "squirt"};
/// Words of a scale by the glucose: `151-200 give 2 units`.
constexpr std::array<std::string_view, 7> kScale = {"bg",    "glucose",    "sugar",     "sliding",
                                                    "scale", "correction", "glucometer"};
constexpr std::array<std::string_view, 4> kSpan = {"then", "thereafter", "followed", "afterwards"};
/// Figures before these words are those of a container, a device or its scale.
constexpr std::array<std::string_view, 16> kOfAThing = {
    "syringe", "syringes", "vial",   "vials",   "pen",  "pens",  "ampule", "ampules",
    "ampoule", "ampoules", "needle", "needles", "mark", "marks", "line",   "tablet"};
/// Words between such a figure and its thing: `a 3 mL luer lock syringe`.
constexpr std::array<std::string_view, 15> kKindOfThing = {
    "luer",  "lock",      "slip", "tip",    "insulin", "tuberculin", "oral",      "safety",
    "multi", "multidose", "dose", "single", "use",     "prefilled",  "disposable"};
/// What a figure is of when it is not of the medicine: `0.5 mL of air`.
constexpr std::array<std::string_view, 5> kNoMedicine = {"air", "saline", "water", "diluent",
                                                         "solvent"};
/// `50 mg per dose` is a dose; `1 mL per side` is one as far as there is no other.
constexpr std::array<std::string_view, 7> kOneDose = {"dose", "injection", "shot", "each",
                                                      "side", "site",      "time"};
/// How fast an amount is given says nothing about how much.
constexpr std::array<std::string_view, 6> kShortTimes = {"min",     "mins",   "minute",
                                                         "minutes", "second", "sec"};
constexpr std::array<std::string_view, 5> kHours = {"h", "hr", "hrs", "hour", "hours"};
/// Behind `per`, what makes an amount another thing than a dose.
constexpr std::array<std::string_view, 7> kMeasures = {"m2",   "m\u00B2",  "m",        "square",
                                                       "kilo", "kilogram", "kilograms"};
constexpr std::array<std::string_view, 6> kPrefilled = {"prefilled",    "syringe",  "pen",
                                                        "autoinjector", "injector", "pfs"};

template <std::size_t N>
bool is_one_of(const Token& token, const std::array<std::string_view, N>& words) {
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view word) { return same_letters(token.text, word); });
}

/// `view` at the same place of `to`, when it is in `from`.
std::string_view moved(std::string_view view, std::string_view from, std::string_view to) {
  const auto at = reinterpret_cast<std::uintptr_t>(view.data());
  const auto begin = reinterpret_cast<std::uintptr_t>(from.data());
  if (view.empty() || at < begin || at >= begin + from.size()) return view;
  return to.substr(at - begin, view.size());
}

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

class Scan {
 public:
  Scan(const ReadContext& context, std::string_view text, TextRole role, std::string_view own)
      : context_(context), text_(text), role_(role), t_(text), aside_(context, text, t_, own) {
    for (std::size_t i = 0; role == TextRole::Directions && !has_total_ && i < t_.size; ++i)
      has_total_ = t_.is(i, "total");
  }

  FreeText run() {
    std::size_t at = 0;
    while (at < t_.size)
      at += t_[at].number ? number(at) : word(at);
    if (!t_.whole()) confuse_all();
    found_.unread = t_.unread;
    found_.names_medicine = aside_.names_medicine();
    return found_;
  }

 private:
  [[nodiscard]] std::size_t end_of(std::size_t at) const {
    return t_[at].offset + t_[at].text.size();
  }
  /// The first byte that is no blank from `from` on; NUL at the end.
  [[nodiscard]] char next_char(std::size_t from) const {
    while (from < text_.size() && is_blank(text_[from]))
      ++from;
    return from < text_.size() ? text_[from] : '\0';
  }
  /// Nothing but blanks or a hyphen between two tokens.
  [[nodiscard]] bool adjoins(std::size_t at) const {
    if (at + 1 >= t_.size) return false;
    const std::size_t gap = t_[at + 1].offset - end_of(at);
    if (gap == 0) return true;
    const std::string_view between = text_.substr(end_of(at), gap);
    return between == "-" || std::all_of(between.begin(), between.end(), is_blank);
  }

  /// An amount of the order has been read.
  [[nodiscard]] bool said() const { return !found_.amount.empty() || !found_.volume.empty(); }

  /// A text that is longer than we look at may say anything further on.
  void confuse_all() {
    for (Found* found :
         {&found_.strength, &found_.amount, &found_.volume, &found_.per_weight, &found_.pack_amount,
          &found_.pack_volume, &found_.amount_rate, &found_.volume_rate, &found_.weight_rate,
          &found_.interval, &found_.route, &found_.site, &found_.side})
      found->confuse();
  }

  std::size_t word(std::size_t at) {
    if (role_ == TextRole::Name) return name_word(at);
    if (const std::size_t end = aside_.end(at, said()); end > at) return end - at;
    in_course_ = in_course_ || is_course(at);
    later_ = later_ || (in_course_ && is_one_of(t_[at], kSpan));
    if (const std::size_t used = total(at); used > 0) return used;
    if (const std::size_t used = interval(at); used > 0) return used;
    if (const std::size_t used = route(at); used > 0) return used;
    read_place(context_, text_, t_, at, found_.site, found_.side);
    return 1;
  }

  std::size_t name_word(std::size_t at) {
    if (is_one_of(t_[at], kPrefilled)) found_.prefilled = true;
    if (const std::size_t used = route(at); used > 0) return used;
    const bool scale = t_.is(at, "u") && at + 1 < t_.size && t_[at + 1].number && adjoins(at);
    if (!scale) return 1;
    add_strength(t_[at].offset, end_of(at + 1));  // U-100
    return 2;
  }

  std::size_t interval(std::size_t at) {
    const auto every = interval_at(t_, at);
    if (!every) return 0;
    const std::string_view written =
        text_.substr(t_[at].offset, end_of(at + every->tokens - 1) - t_[at].offset);
    if (every->ambiguous) {
      found_.ambiguous_interval = true;
      found_.ambiguous_text = written;
      found_.interval.confuse();
    } else {
      add_interval(every->seconds, every->times, written);
    }
    return every->tokens;
  }
  void add_interval(double seconds, std::uint32_t times, std::string_view written) {
    if (found_.interval.clear() && found_.times != times) found_.interval.confuse();
    found_.times = times;
    found_.interval.add(Value::quantity(seconds, dim::kTime), written);
  }

  std::size_t route(std::size_t at) {
    const RouteWords words = route_at(t_, at);
    if (words.tokens == 0) return 0;
    if (!is_refused(t_, at)) {
      const Value value = read_word(context_, FieldId::Route, words.route);
      const std::size_t last = end_of(at + words.tokens - 1);
      if (value.aux != kNoWord)
        found_.route.add(value, text_.substr(t_[at].offset, last - t_[at].offset));
    }
    return words.tokens;
  }

  void add_strength(std::size_t from, std::size_t to) {
    const std::string_view written = text_.substr(from, to - from);
    const auto read = parse_strength(written, style_of(context_, FieldId::Strength));
    if (!read || !check_quantity(FieldId::Strength, *read, written)) {
      found_.strength.confuse();
      return;
    }
    found_.strength.add(Value::quantity(read->value, read->dimension), written);
  }

  [[nodiscard]] bool after_in(std::size_t at) const {
    for (std::size_t i = 0; i < at; ++i) {
      if (t_.is(i, "in")) return true;
    }
    return false;
  }

  /// A number and what belongs to it; the tokens that were used.
  std::size_t number(std::size_t at) {
    if (role_ == TextRole::Directions && (t_.is(at + 1, "times") || t_.is(at + 1, "x")))
      if (const std::size_t used = interval(at); used > 0) return used;
    std::size_t from = t_[at].offset;
    if (t_[at].before == '.') --from;  // .5 mg
    if (const std::size_t used = fraction(at); used > 0) return used;
    if (in_run(at)) return 1;
    const std::size_t after = end_of(at);
    if (role_ == TextRole::Name && next_char(after) == '%') {
      // `2 g in sodium chloride 0.9 % 50 mL`: the share of the diluent, not of the medicine.
      if (after_in(at)) return 1;
      add_strength(from, text_.find('%', after) + 1);
      return 1;
    }
    if (role_ == TextRole::Name && after < text_.size() && text_[after] == ':' &&
        at + 1 < t_.size && t_[at + 1].number) {
      add_strength(from, end_of(at + 1));
      return 2;
    }
    if (!adjoins(at) || t_[at + 1].number || t_.is(at + 1, "in") || t_[at + 1].text == "G")
      return 1;
    if (const std::size_t used = rate(at, from); used > 0) return used;
    if (const std::size_t used = quotient(at, from); used > 0) return used;
    plain(at, from, at);
    return 2;
  }

  /// `100 mg/week`, `50 mg a week in two doses`, `2 mL weekly total`; 0 when it is none.
  std::size_t rate(std::size_t at, std::size_t from) {
    if (role_ != TextRole::Directions) return 0;
    const PerTime time = per_time_after(t_, text_, at + 1);
    if (time.tokens == 0) return 0;
    const std::size_t last = at + 1 + time.tokens;
    const std::string_view written = text_.substr(from, end_of(last) - from);
    if (!after_limit(at, false) && !add_rate(at, from, time.seconds, written)) return 0;
    if (time.doses > 0) add_interval(time.seconds, time.doses, written);
    return last + 1 - at;
  }
  /// `weekly total 100 mg`, `total of 100 mg per week`.
  std::size_t total(std::size_t at) {
    if (!has_total_) return 0;
    const TotalBefore before = total_at(t_, text_, at);
    const std::size_t number = before.number;
    if (number == 0 || !adjoins(number) || t_[number + 1].number) return 0;
    const std::size_t unit = number + 1;
    PerTime time{before.seconds, 0, 0};
    if (time.seconds <= 0) time = per_time_after(t_, text_, unit);
    if (const auto every = interval_at(t_, unit + 1);
        time.seconds <= 0 && every && every->times == 1 && !aside_.ends_sentence(unit))
      time = {every->seconds, 0, every->tokens};
    if (time.seconds <= 0) return 0;
    const std::size_t from = t_[at].offset;
    const std::string_view written = text_.substr(from, end_of(unit + time.tokens) - from);
    if (!add_rate(number, t_[number].offset, time.seconds, written)) return 0;
    if (time.doses > 0) add_interval(time.seconds, time.doses, written);
    return unit + time.tokens + 1 - at;
  }
  /// False where the number and its unit are no amount of a medicine.
  bool add_rate(std::size_t at, std::size_t from, double seconds, std::string_view written) {
    std::string amount(text_.substr(from, end_of(at + 1) - from));
    if (text_[end_of(at)] == '-') amount[end_of(at) - from] = ' ';
    const auto read = parse_quantity(amount, style_of(context_, FieldId::Dose));
    if (!read) return false;
    Found* const found = found_for(read->dimension);
    if (found == nullptr || !(read->value > 0)) return false;
    Found& per_time = found == &found_.volume ? found_.volume_rate : found_.amount_rate;
    per_time.add(Value::quantity(read->value / seconds, read->dimension), written);
    found_.calendar_rate = found_.calendar_rate || is_by_calendar(seconds);
    return true;
  }

  /// A fraction in one character.
  [[nodiscard]] bool is_sign(std::size_t at) const {
    return at < t_.size && t_[at].number && static_cast<unsigned char>(t_[at].text[0]) >= 0x80;
  }
  /// Tokens of a fraction of halves, quarters or eighths; 0 when none starts at `at`.
  /// `875/125` and `3/6` are mixtures or ranges.
  [[nodiscard]] std::size_t fraction_tokens(std::size_t at) const {
    if (is_sign(at)) return 1;
    if (at + 1 >= t_.size || !t_[at + 1].number || t_[at + 1].offset != end_of(at) + 1 ||
        t_[at + 1].before != '/')
      return 0;
    const std::string_view over = t_[at].text;
    const std::string_view under = t_[at + 1].text;
    const bool known = under == "2" || under == "4" || under == "8";
    return known && over.size() == 1 && over < under && over != "0" ? 2 : 0;
  }
  /// `1/2 mL`, `1 1/2 mL` or one character with a unit, which are certain; the tokens that were
  /// used.
  std::size_t fraction(std::size_t at) {
    if (role_ != TextRole::Directions || (at > 0 && joined(at - 1))) return 0;
    if (at > 1 && through_to(at - 2)) return 0;
    std::size_t used = fraction_tokens(at);
    if (used == 0 && at + 1 < t_.size && t_[at + 1].number && only_blanks(at)) {
      used = fraction_tokens(at + 1);
      if (used > 0) ++used;
    }
    const std::size_t unit = at + used;
    if (used == 0 || !adjoins(unit - 1) || t_[unit].number || t_.is(unit, "in")) return 0;
    if (!parse_unit(t_[unit].text, UnitSet::Order)) return 0;  // `1/2 to 1 mL` too
    if (next_char(end_of(unit)) == '/' || t_.is(unit + 1, "per")) return 0;
    if (per_time_after(t_, text_, unit).tokens > 0) return 0;
    plain(unit - 1, t_[at].offset, at);
    return used + 1;
  }
  /// Nothing but blanks, or nothing at all, behind a token.
  [[nodiscard]] bool only_blanks(std::size_t at) const {
    return adjoins(at) && (end_of(at) == text_.size() || text_[end_of(at)] != '-');
  }

  /// Two numbers in a row: `875/125`, `3-6`, `1 1/2`.
  [[nodiscard]] bool joined(std::size_t left) const {
    if (left + 1 >= t_.size || !t_[left].number || !t_[left + 1].number) return false;
    const std::size_t gap = t_[left + 1].offset - end_of(left);
    const char mark = next_char(end_of(left));
    return mark == '/' || mark == '-' || (gap == 1 && mark != ':') ||
           static_cast<unsigned char>(mark) >= 0x80;
  }
  /// `3 to 6`, `1 or 2`.
  [[nodiscard]] bool through_to(std::size_t left) const {
    return left + 2 < t_.size && t_[left].number && t_[left + 2].number &&
           (t_.is(left + 1, "to") || t_.is(left + 1, "or"));
  }

  /// One of several numbers in a row (`875/125 mg`, `3-6 mL`, `1 1/2 in`): not one value.
  [[nodiscard]] bool in_run(std::size_t at) {
    const bool run = joined(at) || (at > 0 && joined(at - 1)) || through_to(at) ||
                     (at > 1 && through_to(at - 2));
    if (run && role_ == TextRole::Directions) confuse_by_unit(at);
    return run;
  }

  /// Which number of a run is given is not said, but of what is: the unit behind it.  A needle's
  /// length, a date, weeks and a telephone number say nothing about the dose.
  void confuse_by_unit(std::size_t at) {
    const std::size_t first = t_[at].offset;
    bool with_sign = is_sign(at);
    bool with_slash = false;
    while (joined(at) || through_to(at)) {
      with_slash = with_slash || t_[at + 1].before == '/';
      at += joined(at) ? 1 : 2;
      with_sign = with_sign || is_sign(at);
    }
    if (!adjoins(at) || t_[at + 1].text == "G") return;  // of a gauge
    const auto unit = parse_unit(t_[at + 1].text, UnitSet::Order);
    Found* const found = unit ? found_for(unit->dimension) : nullptr;
    if (found == nullptr) return;
    // `875/125 mg` is a mixture, and a rule sees ranges in figures; nobody else sees the others.
    if (with_sign || (with_slash && unit->dimension == dim::kVolume))
      found->doubt(text_.substr(first, end_of(at + 1) - first), Value::missing());
    found->confuse();
  }

  /// `200 mg/mL`, `80mg/0.8mL`, `100 units per mL`, `1 mg/kg`; 0 when it is none.
  std::size_t quotient(std::size_t at, std::size_t from) {
    const std::size_t unit = at + 1;
    std::size_t below = 0;
    if (next_char(end_of(unit)) == '/' || t_.is(unit + 1, "per"))
      below = t_.is(unit + 1, "per") ? unit + 2 : unit + 1;
    else if (t_.is(unit + 1, "in") && unit + 2 < t_.size && t_[unit + 2].number)
      below = unit + 2;
    if (below == 0 || below >= t_.size) return 0;
    const bool figure = t_[below].number;
    const std::size_t last = figure ? below + 1 : below;
    if (last >= t_.size || t_[last].number) return 0;
    const auto volume = parse_unit(t_[last].text, UnitSet::Order);
    if (role_ == TextRole::Directions && aside_.is_of_another(at, last, said()))
      return last + 1 - at;
    if (volume && volume->dimension == dim::kVolume) {
      add_strength(from, end_of(last));
      if (figure) add_pack(from, unit, below, last);
    } else if (t_.is(last, "kg")) {
      return per_weight(at, from, last);
    } else if (role_ == TextRole::Name) {
      found_.amount.confuse();
    } else {
      return per_other(at, from, below, last);
    }
    return last + 1 - at;
  }

  /// `1 mg/kg`, `15 mg/kg/day`; `last` is the token `kg`.
  std::size_t per_weight(std::size_t at, std::size_t from, std::size_t last) {
    const std::string_view dose = text_.substr(from, end_of(last) - from);
    const auto read = read_value(context_, FieldId::DosePerWeight, dose);
    const PerTime time = role_ == TextRole::Name ? PerTime{} : per_time_after(t_, text_, last);
    if (!read) return last + 1 - at;
    if (time.tokens == 0) {
      found_.per_weight.add(*read, dose);
      return last + 1 - at;
    }
    const std::size_t end = last + time.tokens;
    Value a_second = *read;
    a_second.number /= time.seconds;
    found_.weight_rate.add(a_second, text_.substr(from, end_of(end) - from));
    found_.calendar_rate = found_.calendar_rate || is_by_calendar(time.seconds);
    if (time.doses > 0) add_interval(time.seconds, time.doses, found_.weight_rate.written());
    return end + 1 - at;
  }

  /// An amount per something that is neither volume, weight nor a day and longer.
  std::size_t per_other(std::size_t at, std::size_t from, std::size_t below, std::size_t last) {
    const bool in = t_.is(at + 2, "in");
    const bool slash = !in && !t_.is(at + 2, "per");
    const auto unit = parse_unit(t_[at + 1].text, UnitSet::Order);
    const bool is_volume = unit && unit->dimension == dim::kVolume;
    const bool hours = is_one_of(t_[last], kHours);
    if (!unit || found_for(unit->dimension) == nullptr) return last + 1 - at;
    if (is_one_of(t_[last], kShortTimes) || (hours && is_volume)) return last + 1 - at;
    if (is_one_of(t_[last], kOfAThing)) return last + 1 - at;
    // `50 mg per dose`, `50 mg per protocol` and `50 mg in 2 weeks` are doses.
    if (in ? !t_.is(last, "doses") : is_one_of(t_[last], kOneDose)) return 0;
    const bool measured = hours || is_one_of(t_[last], kMeasures) || below != last;
    if (!slash && !measured) return 0;
    if (t_.is(last, "m") && last + 1 < t_.size && t_[last + 1].offset == end_of(last))
      ++last;  // the figure of `m2`
    if (!after_limit(at, true) && found_.uncompared.empty())
      found_.uncompared = text_.substr(from, end_of(last) - from);
    return last + 1 - at;
  }

  void add_pack(std::size_t from, std::size_t unit, std::size_t below, std::size_t last) {
    const std::string_view amount = text_.substr(from, end_of(unit) - from);
    const std::string_view volume = text_.substr(t_[below].offset, end_of(last) - t_[below].offset);
    const auto content = read_value(context_, FieldId::VialContent, amount);
    const auto in = read_value(context_, FieldId::VialVolume, volume);
    if (!content || !in) return;
    found_.pack_amount.add(*content, amount);
    found_.pack_volume.add(*in, volume);
  }

  /// Where an amount of this dimension belongs; null: nowhere.
  [[nodiscard]] Found* found_for(Dimension dimension) {
    if (dimension == dim::kVolume) return &found_.volume;
    if (dimension == dim::kMass || dimension == dim::kBiological ||
        dimension == dim::kAmountOfSubstance || dimension == dim::kEquivalent)
      return &found_.amount;
    return nullptr;
  }

  /// `0,5 mL`, `5,000 units`: both are left unread, and what it is of is in doubt.
  void two_ways(std::size_t at, std::string_view written) {
    found_.amount.confuse();
    found_.volume.confuse();
    const auto unit = parse_unit(t_[at + 1].text, UnitSet::Order);
    Found* const found = unit ? found_for(unit->dimension) : nullptr;
    if (found == nullptr) return;
    std::string digits;
    std::size_t in_group = 0;
    bool groups = t_[at].text.front() != '0' && t_[at].before != '.';
    for (const char c : t_[at].text) {
      const bool mark = c == ',' || c == '.';
      if (mark) groups = groups && (in_group == 3 || digits.size() == in_group);
      in_group = mark ? 0 : in_group + 1;
      if (!mark) digits += c;
    }
    const auto read = parse_quantity(digits + " " + std::string(t_[at + 1].text),
                                     style_of(context_, FieldId::Dose));
    groups = groups && in_group == 3 && read;
    found->doubt(written,
                 groups ? Value::quantity(read->value, read->dimension) : Value::missing());
  }

  /// `50 mg`, `0.25mL`; `at` is the last token of the number, `first` its first.
  void plain(std::size_t at, std::size_t from, std::size_t first) {
    const std::string_view written = text_.substr(from, end_of(at + 1) - from);
    const bool directions = role_ == TextRole::Directions;
    if (directions && belongs_to_a_thing(at, first)) return;
    std::string spaced(written);  // `100-mg` is 100 mg
    if (text_[end_of(at)] == '-') spaced[end_of(at) - from] = ' ';
    const auto read = parse_quantity(spaced, style_of(context_, FieldId::Dose));
    if (!read) {
      if (read.error().code == Errc::Ambiguous) two_ways(at, written);
      return;
    }
    Found* const found = found_for(read->dimension);
    if (found == nullptr || !(read->value > 0)) return;
    const bool share = directions && found->clear() && is_share(at + 2);
    if (directions && (later_ || aside_.is_later(first)))
      return found->add_later(Value::quantity(read->value, read->dimension), written);
    found->add(Value::quantity(read->value, read->dimension), share ? std::string_view{} : written);
  }

  /// `each buttock`, `in each`, `per side` behind an amount: a part of what was said before.
  [[nodiscard]] bool is_share(std::size_t at) const {
    for (std::size_t i = at; i < at + 2; ++i)
      if (t_.is(i, "each") || t_.is(i, "per")) return !interval_at(t_, i);
    return false;
  }

  [[nodiscard]] bool belongs_to_a_thing(std::size_t at, std::size_t first) {
    std::size_t next = at + 2;
    if (next < t_.size && is_one_of(t_[next], kNoMedicine)) return true;
    if (t_.is(next, "of") && next + 1 < t_.size && is_one_of(t_[next + 1], kNoMedicine))
      return true;
    while (next < t_.size && is_one_of(t_[next], kKindOfThing))
      ++next;
    if (next < t_.size && is_one_of(t_[next], kOfAThing)) return true;
    if (aside_.is_of_another(first, at + 1, said()) || is_drawn_only(first, at + 1) ||
        is_of_scale(first))
      return true;
    if (aside_.is_before(first, at + 1, said())) return true;
    if (first > 0 && t_.is(first - 1, "by")) return true;  // `increase by 2 units`
    // `4 vials of 1 mL`
    if (first > 1 && t_.is(first - 1, "of") && is_one_of(t_[first - 2], kOfAThing)) return true;
    return after_limit(first, true);
  }
  /// `draw 0.3 mL, expel to 0.25 mL`: the first of the two.
  [[nodiscard]] bool is_drawn_only(std::size_t first, std::size_t unit) const {
    const bool drawn = first > 0 && (is_one_of(t_[first - 1], kDraw) ||
                                     (first > 1 && is_one_of(t_[first - 2], kDraw)));
    for (std::size_t next = unit + 1; drawn && next < t_.size && next <= unit + 6; ++next)
      if (is_one_of(t_[next], kExpel) && t_.is(next + 1, "to")) return true;
    return false;
  }
  /// `151-200 give 2 units`, where the text speaks of a glucose.
  [[nodiscard]] bool is_of_scale(std::size_t first) {
    std::size_t at = first;
    while (at > 0 && is_one_of(t_[at - 1], kGiven))
      --at;
    if (at == 0 || !t_[at - 1].number) return false;
    for (std::size_t i = 0; !scale_ && i < t_.size; ++i)
      if (i + 1 == t_.size || is_one_of(t_[i], kScale)) scale_ = i + 1 < t_.size;
    return scale_.value_or(false);
  }
  /// `for 4 weeks`, `x 4 doses`: what stands before `then` has an end.
  [[nodiscard]] bool is_course(std::size_t at) const {
    const bool lead = t_.is(at, "for") || t_.is(at, "x") || t_.is(at, "times");
    if (!lead || at + 2 >= t_.size || small_number(t_[at + 1]) == 0) return false;
    return period_at(t_, at + 2) > 0 || t_.is(at + 2, "doses");
  }
  /// A word shortly before the number says that it is a limit or a preparation, or a total.
  [[nodiscard]] bool after_limit(std::size_t number, bool or_total) const {
    for (std::size_t back = 1; back <= 4 && back <= number; ++back) {
      if (aside_.ends_sentence(number - back)) return false;
      if (is_one_of(t_[number - back], kGiven) && !is_refused(t_, number - back)) return false;
      if (!or_total && t_.is(number - back, "total")) continue;
      const bool to = back > 1 && t_.is(number - back + 1, "to");
      if (to && is_one_of(t_[number - back], kExpel)) return false;
      if (is_one_of(t_[number - back], kNotGiven)) return true;
    }
    return false;
  }

  const ReadContext& context_;
  std::string_view text_;
  TextRole role_;
  Tokens t_;
  AsideText aside_;
  bool has_total_ = false;
  std::optional<bool> scale_;  // the text speaks of a glucose; not looked for yet: empty
  bool in_course_ = false;     // a number of days or doses has been said
  bool later_ = false;         // what follows comes after them
  FreeText found_;
};

}  // namespace

void Found::add(const Value& value, std::string_view written) {
  if (readings_ == 0) {
    value_ = value;
    written_ = written;
    readings_ = 1;
    return;
  }
  const bool same = value_.aux == value.aux && compare(value_.number, value.number) == 0;
  if (same) return;
  // 20 units on a scale beside 50 mg are no other amount of the same.
  if (readings_ == 1 && value_.aux == value.aux) {
    other_ = written;
    other_value_ = value;
  }
  later_ = false;
  readings_ = 2;
}

void Found::add_later(const Value& value, std::string_view written) {
  const bool first = readings_ == 0;
  const bool only = readings_ == 1 || only_later();
  add(value, written);
  later_ = !first && only && readings_ == 2;
}

void Found::doubt(std::string_view written, const Value& grouped) {
  if (doubtful_.empty()) {
    doubtful_ = written;
    grouped_ = grouped;
  }
  readings_ = 2;
}

void Found::move(std::string_view from, std::string_view to) {
  if (readings_ == 0) return;
  written_ = moved(written_, from, to);
  doubtful_ = moved(doubtful_, from, to);
  other_ = moved(other_, from, to);
  value_.text = moved(value_.text, from, to);
}

void FreeText::move(std::string_view from, std::string_view to) {
  for (Found* found : {&strength, &amount, &volume, &per_weight, &pack_amount, &pack_volume,
                       &amount_rate, &volume_rate, &weight_rate, &interval, &route, &site, &side})
    found->move(from, to);
  for (std::string_view* text : {&ambiguous_text, &uncompared, &unread})
    *text = moved(*text, from, to);
}

namespace {

/// A line that begins with a capital is a sentence of its own: a semicolon for the end before it.
void end_lines(std::string& text) {
  for (std::size_t at = text.find('\n'); at != std::string::npos; at = text.find('\n', at + 1)) {
    const std::size_t next = text.find_first_not_of(" \t\r\n", at);
    if (next != std::string::npos && text[next] >= 'A' && text[next] <= 'Z') text[at] = ';';
  }
}

/// `text`, byte for byte as long, with a blank for each line end, tab, blank of Unicode's, curly
/// quote and bullet, none of which says anything about an amount: `text` itself, or `buffer`.
std::string_view with_plain_signs(std::string_view text, std::string& buffer) {
  constexpr std::string_view kSigns[] = {"\n",     "\r",     "\t",     "\u2018", "\u2019",
                                         "\u201C", "\u201D", "\u2022", "\u2026"};
  const auto may_be = [](char c) {
    return c == '\n' || c == '\r' || c == '\t' || c == '\xC2' || c == '\xE2';
  };
  if (std::none_of(text.begin(), text.end(), may_be)) return text;  // nearly always
  std::string blanks;
  buffer.assign(with_plain_blanks(text, blanks));
  end_lines(buffer);
  for (const std::string_view sign : kSigns) {
    for (std::size_t at = buffer.find(sign); at != std::string::npos; at = buffer.find(sign, at))
      buffer.replace(at, sign.size(), sign.size(), ' ');
  }
  return buffer == text ? text : std::string_view(buffer);
}

}  // namespace

FreeText read_free_text(const ReadContext& context, std::string_view text, TextRole role,
                        std::string_view own) {
  std::string buffer;
  const std::string_view plain = with_plain_signs(text, buffer);
  FreeText said = Scan(context, plain, role, own).run();
  if (plain.data() != text.data()) said.move(plain, text);
  return said;
}

}  // namespace meniscus::engine
