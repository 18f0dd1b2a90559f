// Tables first, then the small readers for patterns.
#include "adapters/hl7v2/codes.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>

#include "engine/base/ascii.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::ascii::is_digit;

struct ControlRow {
  std::string_view code;
  Control control;
};
// Table 0119.  Requests and the answers that say the same; the rest is left to be asked about.
constexpr std::array<ControlRow, 37> kControls = {{
    {"NW", {"new", ""}},       {"RE", {"new", ""}},       {"RF", {"new", ""}},
    {"AF", {"new", ""}},       {"OF", {"new", ""}},       {"FU", {"new", ""}},
    {"OP", {"new", ""}},       {"PY", {"new", ""}},       {"CH", {"new", ""}},
    {"PA", {"new", ""}},       {"RO", {"new", ""}},       {"SN", {"new", ""}},
    {"NA", {"new", ""}},       {"RL", {"new", "active"}}, {"XO", {"change", ""}},
    {"XX", {"change", ""}},    {"XR", {"change", ""}},    {"RP", {"change", ""}},
    {"RU", {"change", ""}},    {"RQ", {"change", ""}},    {"SC", {"", ""}},
    {"SR", {"", ""}},          {"SS", {"", ""}},          {"PR", {"", ""}},
    {"CN", {"", ""}},          {"CA", {"cancel", ""}},    {"OC", {"cancel", ""}},
    {"CR", {"cancel", ""}},    {"DC", {"stop", ""}},      {"OD", {"stop", ""}},
    {"DR", {"stop", ""}},      {"DF", {"stop", ""}},      {"DE", {"cancel", ""}},
    {"HD", {"", "suspended"}}, {"OH", {"", "suspended"}}, {"HR", {"", "suspended"}},
    {"OE", {"", "active"}},
}};

// Table 0038.  The action counts where ORC-1 leaves it open; the status always.
constexpr std::array<ControlRow, 8> kStatuses = {{
    {"CA", {"cancel", "cancelled"}},
    {"DC", {"stop", "stopped"}},
    {"RP", {"stop", "stopped"}},  // replaced
    {"ER", {"", "unknown"}},      // error, order not found
    {"HD", {"", "suspended"}},
    {"CM", {"", "completed"}},
    {"IP", {"", "active"}},
    {"SC", {"", "active"}},
}};

struct RouteRow {
  std::string_view code;
  RouteCode route;
};
constexpr std::array<RouteRow, 83> kRoutes = {{
    // table 0162
    {"AP", {"topical", false}},
    {"B", {"buccal", false}},
    {"DT", {"dental", false}},
    {"EP", {"epidural", true}},
    {"ET", {"endotracheal", false}},
    {"GTT", {"gastrostomy", false}},
    {"GU", {"irrigation", false}},
    {"IA", {"intra-arterial", true}},
    {"IB", {"intrabursal", true}},
    {"IC", {"intracardiac", true}},
    {"ICV", {"intracervical", false}},
    {"ID", {"intradermal", true}},
    {"IH", {"inhalation", false}},
    {"IHA", {"intrahepatic", true}},
    {"IM", {"intramuscular", true}},
    {"IMR", {"topical", false}},
    {"IN", {"nasal", false}},
    {"IO", {"intraocular", true}},
    {"IP", {"intraperitoneal", true}},
    {"IS", {"intrasynovial", true}},
    {"IT", {"intrathecal", true}},
    {"IU", {"intrauterine", false}},
    {"IV", {"intravenous", true}},
    {"MM", {"mucous-membrane", false}},
    {"MTH", {"mouth-throat", false}},
    {"NG", {"nasogastric", false}},
    {"NP", {"inhalation", false}},
    {"NS", {"nasal", false}},
    {"NT", {"endotracheal", false}},
    {"OP", {"ophthalmic", false}},
    {"OT", {"otic", false}},
    {"PF", {"perfusion", true}},
    {"PO", {"oral", false}},
    {"PR", {"rectal", false}},
    {"RM", {"inhalation", false}},
    {"SC", {"subcutaneous", true}},
    {"SD", {"topical", false}},
    {"SL", {"sublingual", false}},
    {"TD", {"transdermal", false}},
    {"TL", {"sublingual", false}},
    {"TP", {"topical", false}},
    {"TRA", {"tracheostomy", false}},
    {"UR", {"urethral", false}},
    {"VG", {"vaginal", false}},
    {"VM", {"inhalation", false}},
    {"WND", {"wound", false}},
    // spellings in use (public sample messages; common practice)
    {"SQ", {"subcutaneous", true}},
    {"SUBQ", {"subcutaneous", true}},
    {"SUB-Q", {"subcutaneous", true}},
    {"SUBCUT", {"subcutaneous", true}},
    {"SUBCUTANEOUS", {"subcutaneous", true}},
    {"SUBCUTANEA", {"subcutaneous", true}},
    {"INTRAMUSC", {"intramuscular", true}},
    {"INTRAMUSCULAR", {"intramuscular", true}},
    {"INTRADERMAL", {"intradermal", true}},
    {"INTRAVENOUS", {"intravenous", true}},
    {"INTRAVENOSA", {"intravenous", true}},
    {"INTRATHECAL", {"intrathecal", true}},
    {"INTRA-ARTICULAR", {"intra-articular", true}},
    {"IVP", {"intravenous", true}},
    {"IVPB", {"intravenous", true}},
    {"ORAL", {"oral", false}},
    {"BY MOUTH", {"oral", false}},
    {"TOPICAL", {"topical", false}},
    {"INHALATION", {"inhalation", false}},
    {"SUBLINGUAL", {"sublingual", false}},
    {"RECTAL", {"rectal", false}},
    {"VAGINAL", {"vaginal", false}},
    {"NASAL", {"nasal", false}},
    {"INTRANASAL", {"nasal", false}},
    {"OPHTHALMIC", {"ophthalmic", false}},
    {"OTIC", {"otic", false}},
    {"TRANSDERMAL", {"transdermal", false}},
    // NCIT, as in the immunisation messages; SNOMED CT
    {"C28161", {"intramuscular", true}},
    {"C38299", {"subcutaneous", true}},
    {"C38238", {"intradermal", true}},
    {"C38276", {"intravenous", true}},
    {"C38288", {"oral", false}},
    {"C38284", {"nasal", false}},
    {"34206005", {"subcutaneous", true}},
    {"78421000", {"intramuscular", true}},
    {"47625008", {"intravenous", true}},
    {"26643006", {"oral", false}},
}};

struct SiteRow {
  std::string_view code;
  SiteCode site;
};
// Table 0163.  Places that no injection goes into (ears, eyes, nose) have no row: they stay as
// written and are said to be unknown.  Gluteus medius is no single injection site, so it is kept
// as the gluteal region.  ABD and the quadrant words of the abdomen are local spellings (common
// practice).
constexpr std::array<SiteRow, 52> kSites = {{
    {"ABD", {"abdomen", "", ""}},
    {"LLQ", {"abdomen", "left", ""}},
    {"RLQ", {"abdomen", "right", ""}},
    {"LUQ", {"abdomen", "left", ""}},
    {"RUQ", {"abdomen", "right", ""}},
    {"BU", {"gluteal", "", ""}},
    {"LA", {"arm", "left", ""}},
    {"RA", {"arm", "right", ""}},
    {"LAC", {"chest", "left", ""}},
    {"RAC", {"chest", "right", ""}},
    {"LPC", {"chest", "left", ""}},
    {"RPC", {"chest", "right", ""}},
    {"LACF", {"antecubital-fossa", "left", ""}},
    {"RACF", {"antecubital-fossa", "right", ""}},
    {"LD", {"deltoid", "left", ""}},
    {"RD", {"deltoid", "right", ""}},
    {"LE", {"ear", "left", ""}},
    {"RE", {"ear", "right", ""}},
    {"LEJ", {"external-jugular", "left", ""}},
    {"REJ", {"external-jugular", "right", ""}},
    {"LIJ", {"internal-jugular", "left", ""}},
    {"RIJ", {"internal-jugular", "right", ""}},
    {"LSC", {"subclavian", "left", ""}},
    {"RSC", {"subclavian", "right", ""}},
    {"LF", {"foot", "left", ""}},
    {"RF", {"foot", "right", ""}},
    {"LG", {"gluteal", "left", ""}},
    {"RG", {"gluteal", "right", ""}},
    {"LH", {"hand", "left", ""}},
    {"RH", {"hand", "right", ""}},
    {"LLAQ", {"abdomen-lower", "left", ""}},
    {"RLAQ", {"abdomen-lower", "right", ""}},
    {"LUAQ", {"abdomen-upper", "left", ""}},
    {"RUAQ", {"abdomen-upper", "right", ""}},
    {"LLFA", {"forearm", "left", ""}},
    {"RLFA", {"forearm", "right", ""}},
    {"LMFA", {"forearm", "left", ""}},
    {"RMFA", {"forearm", "right", ""}},
    {"LUFA", {"forearm", "left", ""}},
    {"RUFA", {"forearm", "right", ""}},
    {"LN", {"naris", "left", ""}},
    {"RN", {"naris", "right", ""}},
    {"LT", {"thigh", "left", ""}},
    {"RT", {"thigh", "right", ""}},
    {"LUA", {"upper-arm", "left", ""}},
    {"RUA", {"upper-arm", "right", ""}},
    {"LVG", {"ventrogluteal", "left", ""}},
    {"RVG", {"ventrogluteal", "right", ""}},
    {"LVL", {"vastus-lateralis", "left", ""}},
    {"RVL", {"vastus-lateralis", "right", ""}},
    {"OS", {"eye", "left", ""}},
    {"OD", {"eye", "right", ""}},
}};

struct PatternRow {
  std::string_view name;
  std::string_view every;
  int times;
};
// Table 0335 and the words in use.  BIWEEKLY and BIMONTHLY mean two things and have no row.
constexpr std::array<PatternRow, 41> kPatterns = {{
    {"QD", "1 d", 1},
    {"DAILY", "1 d", 1},
    {"QDAY", "1 d", 1},
    {"QAM", "1 d", 1},
    {"QPM", "1 d", 1},
    {"QHS", "1 d", 1},
    {"HS", "1 d", 1},
    {"QNOON", "1 d", 1},
    {"BID", "1 d", 2},
    {"TID", "1 d", 3},
    {"QID", "1 d", 4},
    {"QOD", "2 d", 1},
    {"QSHIFT", "8 h", 1},
    {"QH", "1 h", 1},
    {"QW", "1 wk", 1},
    {"QWEEK", "1 wk", 1},
    {"QWK", "1 wk", 1},
    {"WEEKLY", "1 wk", 1},
    {"BIW", "1 wk", 2},
    {"TIW", "1 wk", 3},
    {"QOW", "2 wk", 1},
    {"MONTHLY", "1 mo", 1},
    {"QMONTH", "1 mo", 1},
    {"QMO", "1 mo", 1},
    {"QUARTERLY", "3 mo", 1},
    {"YEARLY", "1 a", 1},
    {"ONCE DAILY", "1 d", 1},
    {"ONCE A DAY", "1 d", 1},
    {"TWICE DAILY", "1 d", 2},
    {"TWICE A DAY", "1 d", 2},
    {"ONCE WEEKLY", "1 wk", 1},
    {"ONCE A WEEK", "1 wk", 1},
    {"TWICE WEEKLY", "1 wk", 2},
    {"TWICE A WEEK", "1 wk", 2},
    {"ONCE MONTHLY", "1 mo", 1},
    {"ONCE A MONTH", "1 mo", 1},
    {"EVERY DAY", "1 d", 1},
    {"EVERY WEEK", "1 wk", 1},
    {"EVERY MONTH", "1 mo", 1},
    {"EVERY OTHER DAY", "2 d", 1},
    {"EVERY OTHER WEEK", "2 wk", 1},
}};

constexpr std::array<std::string_view, 7> kOnce = {"ONCE", "ONETIME", "ONE TIME", "1X",
                                                   "X1",   "STAT",    "NOW"};

constexpr std::array<std::string_view, 42> kOtherForms = {
    "TAB",     "TABS",    "TABLET",      "TABLETS", "TABLETA",     "TABLETAS",     "CAP",
    "CAPS",    "CAPSULE", "CAPSULES",    "CAPSULA", "CAPSULAS",    "CAPLET",       "PILL",
    "LOZENGE", "SUPP",    "SUPPOSITORY", "CREAM",   "CRM",         "OINT",         "OINTMENT",
    "GEL",     "LOTION",  "PATCH",       "PATCHES", "SYRUP",       "ELIXIR",       "INHALER",
    "PUFF",    "PUFFS",   "SPRAY",       "DROP",    "DROPS",       "GTT",          "SACHET",
    "TSP",     "TBSP",    "EC TAB",      "ER TAB",  "ORAL TABLET", "ORAL CAPSULE", "ORAL SOLUTION"};

constexpr std::array<std::string_view, 28> kContainers = {
    "VIAL",      "VIALS",   "VL",        "AMP",          "AMPS",    "AMPUL",    "AMPULE",
    "AMPULES",   "AMPOULE", "AMPOULES",  "SYR",          "SYRINGE", "SYRINGES", "PEN",
    "PENS",      "CART",    "CARTRIDGE", "CARTRIDGES",   "JER",     "FRASCO",   "AMPOLLA",
    "AMPOLLETA", "PFS",     "INJECTOR",  "AUTOINJECTOR", "KIT",     "JERINGA",  "CARTUCHO"};

struct Alias {
  std::string_view spelling;
  std::string_view unit;
};
// ISO+ as older messages write it in capitals, Spanish, and RxNorm's own abbreviation.
constexpr std::array<Alias, 14> kUnitAliases = {{{"MG", "mg"},
                                                 {"ML", "mL"},
                                                 {"MCG", "ug"},
                                                 {"UG", "ug"},
                                                 {"G", "g"},
                                                 {"GM", "g"},
                                                 {"KG", "kg"},
                                                 {"LB", "[lb_av]"},
                                                 {"LBS", "[lb_av]"},
                                                 {"CM", "cm"},
                                                 {"CC", "mL"},
                                                 {"UI", "[iU]"},
                                                 {"UNT", "unit"},
                                                 {"UNIDADES", "unit"}}};

template <std::size_t N>
bool holds(const std::array<std::string_view, N>& list, std::string_view word) {
  return std::ranges::find(list, word) != list.end();
}

/// `6H`, `2W`, `1L`, `28D` after the Q.
std::string counted_interval(std::string_view text) {
  std::size_t digits = 0;
  while (digits < text.size() && is_digit(text[digits]))
    ++digits;
  if (digits == 0 || digits > 3) return {};
  const std::string_view unit = text.substr(digits);
  std::string_view ours;
  if (unit == "S") ours = "s";
  if (unit == "M") ours = "min";
  if (unit == "H" || unit == "HR" || unit == "HRS") ours = "h";
  if (unit == "D" || unit == "DAYS") ours = "d";
  if (unit == "W" || unit == "WK" || unit == "WKS" || unit == "WEEKS") ours = "wk";
  if (unit == "L" || unit == "MO" || unit == "MONTHS") ours = "mo";
  if (ours.empty()) return {};
  return std::string(text.substr(0, digits)) + " " + std::string(ours);
}

/// "3 TIMES DAILY", "3 TIMES A WEEK", "EVERY 2 WEEKS".
Pattern worded(std::string_view text) {
  Pattern pattern;
  const std::size_t blank = text.find(' ');
  if (blank == std::string_view::npos) return pattern;
  if (text.starts_with("EVERY ")) {
    std::string_view rest = text.substr(6);
    const std::size_t space = rest.find(' ');
    if (space == std::string_view::npos) return pattern;
    std::string joined(rest.substr(0, space));
    const std::string_view unit = rest.substr(space + 1);
    if (unit.starts_with("HOUR")) joined += "H";
    if (unit.starts_with("DAY")) joined += "D";
    if (unit.starts_with("WEEK")) joined += "W";
    if (unit.starts_with("MONTH")) joined += "MO";
    pattern.every = counted_interval(joined);
    return pattern;
  }
  int times = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + blank, times);
  if (error != std::errc{} || end != text.data() + blank || times < 1 || times > 24) return pattern;
  const std::string_view rest = text.substr(blank + 1);
  if (rest == "TIMES DAILY" || rest == "TIMES A DAY" || rest == "TIMES PER DAY")
    pattern.every = "1 d";
  if (rest == "TIMES WEEKLY" || rest == "TIMES A WEEK" || rest == "TIMES PER WEEK")
    pattern.every = "1 wk";
  pattern.times = times;
  return pattern;
}

}  // namespace

std::string upper(std::string_view text) {
  std::string out(trim(text));
  for (char& c : out)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return out;
}

std::optional<Control> order_control(std::string_view code) {
  const auto* row = std::ranges::find(kControls, code, &ControlRow::code);
  if (row == kControls.end()) return std::nullopt;
  return row->control;
}

std::optional<Control> order_status(std::string_view code) {
  const auto* row = std::ranges::find(kStatuses, code, &ControlRow::code);
  if (row == kStatuses.end()) return std::nullopt;
  return row->control;
}

std::optional<RouteCode> route_code(std::string_view code) {
  const auto* row = std::ranges::find(kRoutes, upper(code), &RouteRow::code);
  if (row == kRoutes.end()) return std::nullopt;
  return row->route;
}

bool may_be_injection(std::string_view route_word) {
  const auto* row =
      std::ranges::find_if(kRoutes, [&](const RouteRow& r) { return r.route.word == route_word; });
  return row == kRoutes.end() || row->route.injection;
}

std::optional<SiteCode> site_code(std::string_view code) {
  const auto* row = std::ranges::find(kSites, upper(code), &SiteRow::code);
  if (row == kSites.end()) return std::nullopt;
  return row->site;
}

std::optional<SiteCode> quadrant_in(std::string_view text) {
  static constexpr std::array<std::string_view, 8> kBeside = {
      "ABDOMEN", "ABDOMINAL", "ABD", "OF", "THE", "UPPER", "LOWER", "IN"};
  std::string words = upper(text);
  std::ranges::replace_if(
      words, [](char c) { return c < 'A' || c > 'Z'; }, ' ');
  std::string_view rest = trim(words);
  std::string_view side;
  bool quadrant = false;
  bool twice = false;
  while (!rest.empty()) {
    const std::string_view word = rest.substr(0, rest.find(' '));
    rest = trim(rest.substr(word.size()));
    const bool code = word.size() == 3 && word.ends_with("Q") && site_code(word);
    quadrant = quadrant || code || word == "QUADRANT";
    const std::string_view said = code ? site_code(word)->side : side_word(word);
    twice = twice || (!said.empty() && !side.empty() && said != side);
    if (!said.empty()) side = said;
    if (said.empty() && word != "QUADRANT" && !holds(kBeside, word)) return std::nullopt;
  }
  if (!quadrant || twice || side.empty()) return std::nullopt;
  return SiteCode{"abdomen", side, ""};
}

std::string_view side_word(std::string_view text) {
  const std::string word = upper(text);
  if (word == "L" || word == "LEFT" || word == "LT") return "left";
  if (word == "R" || word == "RIGHT" || word == "RT") return "right";
  return {};
}

std::string_view side_before(std::string_view text, std::string_view& rest) {
  const std::size_t blank = text.find(' ');
  if (blank == std::string_view::npos) return {};
  rest = trim(text.substr(blank + 1));
  return side_word(text.substr(0, blank));
}

Pattern repeat_pattern(std::string_view text) {
  Pattern pattern;
  std::string word = upper(text);
  // A time may be written behind the pattern: DAILY@0900.
  word.resize(std::min(word.size(), word.find('@')));
  if (word.starts_with("PRN")) {
    pattern = repeat_pattern(std::string_view(word).substr(3));
    pattern.as_needed = true;
    return pattern;
  }
  if (word.ends_with(" PRN")) {
    pattern = repeat_pattern(std::string_view(word).substr(0, word.size() - 4));
    pattern.as_needed = true;
    return pattern;
  }
  if (holds(kOnce, word)) {
    pattern.once = true;
    return pattern;
  }
  const auto* row = std::ranges::find(kPatterns, word, &PatternRow::name);
  if (row != kPatterns.end()) {
    pattern.every = row->every;
    pattern.times = row->times;
    return pattern;
  }
  if (word.size() > 2 && word[0] == 'Q') {
    pattern.every = counted_interval(std::string_view(word).substr(1));
    if (!pattern.every.empty()) return pattern;
  }
  if (word.size() == 3 && is_digit(word[0]) && word.ends_with("ID")) {
    pattern.every = "1 d";
    pattern.times = word[0] - '0';
    return pattern;
  }
  return worded(word);
}

std::string_view time_unit(std::string_view text) {
  const std::string word = upper(text);
  if (word == "S" || word == "SEC") return "s";
  if (word == "MIN") return "min";
  if (word == "H" || word == "HR" || word == "HOUR" || word == "HOURS") return "h";
  if (word == "D" || word == "DAY" || word == "DAYS") return "d";
  if (word == "WK" || word == "W" || word == "WEEK" || word == "WEEKS") return "wk";
  if (word == "MO" || word == "MONTH" || word == "MONTHS") return "mo";
  return word == "A" ? "a" : std::string_view{};
}

bool is_other_form(std::string_view text) { return holds(kOtherForms, upper(text)); }
bool is_container(std::string_view text) { return holds(kContainers, upper(text)); }

std::string_view unit_alias(std::string_view text) {
  const auto* row = std::ranges::find(kUnitAliases, upper(text), &Alias::spelling);
  return row == kUnitAliases.end() ? std::string_view{} : row->unit;
}

bool is_no_allergy(std::string_view text) {
  const std::string word = upper(text);
  return word == "NKA" || word == "NKDA" || word == "NO KNOWN ALLERGIES" ||
         word == "NO KNOWN DRUG ALLERGIES" || word == "NO KNOWN ALLERGY";
}

}  // namespace meniscus::adapters::hl7v2
