// Clauses about something else than the dose (contract: aside_text.hpp).
#include "engine/order/aside_text.hpp"

#include <algorithm>
#include <array>

#include "engine/base/ascii.hpp"
#include "engine/order/companion_names.hpp"
#include "engine/order/place_text.hpp"

namespace meniscus::engine {
namespace {

/// What `oral` stands before when it speaks of another medicine.
constexpr std::array<std::string_view, 22> kOralThings = {
    "anticoagulant",  "anticoagulants", "anticoagulation", "antibiotic", "antibiotics",
    "steroid",        "steroids",       "therapy",         "medication", "medications",
    "medicine",       "medicines",      "treatment",       "agent",      "antipsychotic",
    "antipsychotics", "contraceptive",  "contraceptives",  "supplement", "supplements",
    "hormones",       "antihistamine"};
/// Before `oral`, these say that what follows is another one even under the order's own name.
constexpr std::array<std::string_view, 12> kBeside = {"continue", "continuing", "stop",     "from",
                                                      "previous", "after",      "until",    "while",
                                                      "with",     "plus",       "replaces", "and"};
/// Before the name of another injection, these say that it is beside this one.
constexpr std::array<std::string_view, 12> kJoins = {"and",  "with",     "plus", "then",
                                                     "stop", "continue", "of",   "from",
                                                     "also", "after",    "take", "before"};
constexpr std::array<std::string_view, 4> kLacks = {"without", "no", "not", "than"};
constexpr std::array<std::string_view, 8> kUntil = {"until",       "till",        "overlap",
                                                    "overlapping", "premedicate", "premedication",
                                                    "dispense",    "dispensed"};
constexpr std::array<std::string_view, 2> kBefore = {"previously", "formerly"};
constexpr std::array<std::string_view, 33> kChanges = {
    "increase",  "increased", "increasing", "decrease",  "decreased", "decreasing", "titrate",
    "titrated",  "titrating", "uptitrate",  "taper",     "tapered",   "tapering",   "reduce",
    "reduced",   "reducing",  "raise",      "raised",    "lower",     "lowered",    "escalate",
    "escalated", "adjust",    "adjusted",   "change",    "changed",   "changing",   "switch",
    "switched",  "switching", "convert",    "converted", "titration"};
constexpr std::array<std::string_view, 11> kFillers = {"dose",      "doses",   "the",    "your",
                                                       "it",        "insulin", "weekly", "slowly",
                                                       "gradually", "dosage",  "amount"};
constexpr std::array<std::string_view, 7> kInsulins = {
    "lispro", "aspart", "glargine", "detemir", "degludec", "glulisine", "nph"};
/// What may stand before an amount that is swallowed, and names no medicine.
constexpr std::array<std::string_view, 12> kNotNames = {
    "inject",  "swallow", "administer", "dose",    "doses", "total",
    "another", "extra",   "maximum",    "instead", "about", "exactly"};
constexpr std::array<std::string_view, 12> kDiluents = {
    "lidocaine", "lignocaine", "lidocaina", "saline",   "water", "chloride",
    "diluent",   "solvent",    "nacl",      "dextrose", "swfi",  "sterile"};
constexpr std::array<std::string_view, 5> kOfDiluents = {"of", "plain", "bacteriostatic", "normal",
                                                         "injection"};
/// `insulin syringe`: no medicine is named.
constexpr std::array<std::string_view, 13> kThings = {
    "syringe", "syringes", "pen",   "pens", "needle",  "needles", "unit",
    "units",   "vial",     "scale", "pump", "allergy", "level"};
constexpr std::array<std::string_view, 4> kGive = {"inject", "give", "administer", "now"};
constexpr std::size_t kLongestName = 4;   // tokens
constexpr std::size_t kShortestName = 5;  // letters of its first word

static_assert(std::is_sorted(kCompanionNames.begin(), kCompanionNames.end()));

template <std::size_t N>
bool is_one_of(const Token& token, const std::array<std::string_view, N>& words) {
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view word) { return same_letters(token.text, word); });
}

}  // namespace

std::string_view AsideText::gap(std::size_t at) const {
  const std::size_t end = t_[at].offset + t_[at].text.size();
  return text_.substr(end, t_[at + 1].offset - end);
}

bool AsideText::ends_sentence(std::size_t at) const {
  const std::string_view between = gap(at);
  return between.find(';') != std::string_view::npos ||
         between.find(". ") != std::string_view::npos;
}

/// The first word of `name` is one of the order's own medicine: `haloperidol` of
/// haloperidol-decanoate.
bool AsideText::is_own(std::string_view name) const {
  const std::string_view head = name.substr(0, name.find_first_of("- "));
  std::string_view rest = own_;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find_first_of("- "), rest.size());
    if (same_letters(head, rest.substr(0, end))) return true;
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  return false;
}

/// `folic acid`: how many tokens a medicine of kCompanionNames has here; 0: none.
std::size_t AsideText::companion_at(std::size_t at) const {
  const char first = ascii::lower(t_[at].text.front());
  const auto* row = std::lower_bound(kCompanionNames.begin(), kCompanionNames.end(), first,
                                     [](std::string_view name, char c) { return name[0] < c; });
  for (; row != kCompanionNames.end() && row->front() == first; ++row) {
    const std::size_t blank = std::min(row->find(' '), row->size());
    if (!t_.is(at, row->substr(0, blank))) continue;
    if (blank == row->size()) return 1;
    if (t_.is(at + 1, row->substr(blank + 1))) return 2;
  }
  return 0;
}

/// The token that tells one insulin from the others, `lispro` of `insulin lispro`; 0: none.
std::size_t AsideText::insulin_at(std::size_t at) const {
  if (at > 0 && is_one_of(t_[at], kInsulins)) return at;
  const bool named = t_.is(at, "insulin") && at + 1 < t_.size;
  return named && (is_one_of(t_[at + 1], kInsulins) || t_.is(at + 1, "regular")) ? at + 1 : 0;
}

AsideText::Name AsideText::name_at(std::size_t at) {
  if (t_[at].number) return {};
  if (const std::size_t kind = insulin_at(at); kind > 0) {
    names_medicine_ = true;
    const bool own = own_.empty() || is_own(t_[kind].text);
    return {own ? Whose::Own : Whose::Injection, kind + 1 - at};
  }
  if (const std::size_t used = companion_at(at); used > 0) {
    names_medicine_ = true;
    return {is_own(t_[at].text) ? Whose::Own : Whose::Companion, used};
  }
  if (context_.program == nullptr || t_[at].text.size() < kShortestName) return {};
  const Vocabulary& medicines = context_.program->vocabularies[index(FieldId::SubstanceCode)];
  for (std::size_t used = std::min(kLongestName, t_.size - at); used > 0; --used) {
    const Token& last = t_[at + used - 1];
    const std::size_t length = last.offset + last.text.size() - t_[at].offset;
    const Vocabulary::Entry* const entry = medicines.find(text_.substr(t_[at].offset, length));
    if (entry == nullptr) continue;
    if (at + used < t_.size && is_one_of(t_[at + used], kThings)) return {};
    names_medicine_ = true;
    const bool own = own_.empty() || is_own(entry->name) || is_own(t_[at].text);
    return {own ? Whose::Own : Whose::Injection, used};
  }
  return {};
}

bool AsideText::is_diluent(std::size_t at) {
  if (at >= t_.size) return false;
  const bool salt = t_.is(at, "sodium") && t_.is(at + 1, "chloride");
  if (!salt && !is_one_of(t_[at], kDiluents)) return false;
  names_medicine_ = true;
  return !own_.empty() && !is_own(t_[at].text);
}

/// A bracket was opened shortly before the token and is not closed.
bool AsideText::is_in_brackets(std::size_t at) const {
  constexpr std::size_t kFurthest = 60;  // bytes
  const std::size_t start = t_[at].offset > kFurthest ? t_[at].offset - kFurthest : 0;
  const std::string_view before = text_.substr(start, t_[at].offset - start);
  const std::size_t bracket = before.find_last_of("()");
  return bracket != std::string_view::npos && before[bracket] == '(';
}

/// What follows is the order's own again: its name, or an amount right behind a comma.
bool AsideText::is_own_again(std::size_t at) const {
  if (!t_[at].number)
    return t_[at].text.size() >= kShortestName && is_own(t_[at].text) && !t_.is(at - 1, "oral");
  return gap(at - 1).find(',') != std::string_view::npos && at + 1 < t_.size &&
         !t_[at + 1].number && parse_unit(t_[at + 1].text, UnitSet::Order).has_value();
}

std::size_t AsideText::clause_end(std::size_t lead, std::size_t from, bool until_then) const {
  const bool inside = is_in_brackets(lead);
  for (std::size_t at = from; at < t_.size; ++at) {
    if (ends_sentence(at - 1) || is_one_of(t_[at], kGive)) return at;
    if (until_then && t_.is(at, "then")) return at;
    if (inside && gap(at - 1).find(')') != std::string_view::npos) return at;
    if (at > lead + 1 && is_own_again(at)) return at;
  }
  return t_.size;
}

/// `minoxidil 5 mg by mouth`, of which no table knows.
bool AsideText::is_swallowed(std::size_t at) const {
  if (at + 3 >= t_.size || t_[at].text.size() < kShortestName || !t_[at + 1].number) return false;
  const RouteWords route = route_at(t_, at + 3);
  return route.route == "oral" && !is_one_of(t_[at], kNotNames) && !is_own(t_[at].text) &&
         !interval_at(t_, at) && parse_unit(t_[at + 2].text, UnitSet::Order).has_value();
}

std::size_t AsideText::named(std::size_t at, bool said) {
  const Name name = name_at(at);
  if (name.whose == Whose::Nobody && said && is_swallowed(at)) return clause_end(at, at + 1);
  if (name.whose == Whose::Nobody || name.whose == Whose::Own || is_diluent(at)) return 0;
  const bool joined = at > 0 && is_one_of(t_[at - 1], kJoins);
  if (at > 0 && is_one_of(t_[at - 1], kLacks)) return 0;
  if (name.whose == Whose::Injection && !said && !joined) return 0;
  return clause_end(at, at + name.tokens);
}

std::size_t AsideText::oral(std::size_t at) {
  if (!t_.is(at, "oral") || at + 1 >= t_.size || t_[at + 1].number) return 0;
  const bool beside = at > 0 && is_one_of(t_[at - 1], kBeside);
  if (t_.is(at + 1, "syringe")) return at + 2;
  if (is_one_of(t_[at + 1], kOralThings)) return clause_end(at, at + 2);
  const Name name = name_at(at + 1);
  if (name.whose == Whose::Nobody) {
    // `continue oral aripiprazole 10 mg`, of which no table knows
    const bool named = t_[at + 1].text.size() > kShortestName && at + 2 < t_.size &&
                       t_[at + 2].number && !is_one_of(t_[at + 1], kFillers) &&
                       !interval_at(t_, at + 1) && !is_own(t_[at + 1].text);
    return named || (beside && !is_one_of(t_[at + 1], kThings)) ? clause_end(at, at + 2) : 0;
  }
  // `oral haloperidol` beside haloperidol-decanoate is another product.
  const bool whole = name.whose == Whose::Own && same_letters(t_[at + 1].text, own_);
  return whole && !beside ? 0 : clause_end(at, at + 1 + name.tokens);
}

/// `titrate by 2 units every 3 days`; `increase from 40 mg` up to its `to`.
std::size_t AsideText::change(std::size_t at, bool said) const {
  if (t_.is(at, "from")) {
    bool changes = false;
    for (std::size_t back = 1; back <= 3 && back <= at && !changes; ++back)
      changes = is_one_of(t_[at - back], kChanges);
    if (!changes) return 0;
    const std::size_t end = clause_end(at, at + 1);
    for (std::size_t next = at + 1; next < end; ++next)
      if (t_.is(next, "to")) return next;
    return end;
  }
  if (!is_one_of(t_[at], kChanges)) return 0;
  std::size_t next = at + 1;
  while (next < t_.size && is_one_of(t_[next], kFillers) && !ends_sentence(next - 1))
    ++next;
  if (next >= t_.size || ends_sentence(next - 1)) return 0;
  if (t_.is(next, "by") ||
      (said && t_[next].number && gap(next - 1).find(':') == std::string_view::npos))
    return clause_end(at, next + 1);
  return 0;
}

std::size_t AsideText::end(std::size_t at, bool said) {
  if (t_[at].number) return 0;
  if (const std::size_t behind = change(at, said); behind > 0) return behind;
  if (is_one_of(t_[at], kUntil)) return clause_end(at, at + 1, true);
  const bool dose_before = (t_.is(at, "last") || t_.is(at, "previous")) && t_.is(at + 1, "dose") &&
                           at + 2 < t_.size && (t_[at + 2].number || t_.is(at + 2, "was"));
  const bool history =
      is_one_of(t_[at], kBefore) || dose_before || (t_.is(at, "was") && t_.is(at + 1, "on"));
  if (history) return clause_end(at, at + 1, true);
  if (const std::size_t behind = oral(at); behind > 0) return behind;
  return named(at, said);
}

bool AsideText::is_of_another(std::size_t first, std::size_t unit, bool said) {
  std::size_t next = unit + 1;
  while (next < t_.size && !ends_sentence(next - 1) &&
         (is_one_of(t_[next], kOfDiluents) || t_.is(next, "oral") ||
          (t_[next].number && is_diluent(next + 1))))
    ++next;
  if (next >= t_.size || ends_sentence(next - 1)) return follows_diluent(first);
  if (is_diluent(next)) return true;
  const Name name = name_at(next);
  return name.whose == Whose::Companion || (name.whose == Whose::Injection && said) ||
         follows_diluent(first);
}

/// `lidocaine 10 mg/mL`, `lidocaine 1 % 2.1 mL`.
bool AsideText::follows_diluent(std::size_t first) {
  for (std::size_t back = 1; back <= 3 && back <= first; ++back) {
    if (ends_sentence(first - back)) return false;
    if (is_diluent(first - back)) return true;
    if (!t_[first - back].number && !t_.is(first - back, "hydrochloride")) return false;
  }
  return false;
}

bool AsideText::is_before(std::size_t first, std::size_t unit, bool said) const {
  const std::size_t article = first > 1 && (t_.is(first - 1, "the") || t_.is(first - 1, "a"));
  if (first <= article) return false;
  const std::size_t lead = first - 1 - article;
  if (t_.is(lead, "after")) return true;
  const bool instead = lead > 0 && t_.is(lead, "of") && t_.is(lead - 1, "instead");
  const bool from = t_.is(lead, "from") && !t_.is(unit + 1, "to");
  return said && (t_.is(lead, "was") || instead || from);
}

bool AsideText::is_later(std::size_t first) const {
  if (first < 2 || !t_.is(first - 1, "to")) return false;
  for (std::size_t back = 2; back <= 6 && back <= first; ++back) {
    if (ends_sentence(first - back)) return false;
    if (is_one_of(t_[first - back], kChanges)) return true;
  }
  return false;
}

}  // namespace meniscus::engine
