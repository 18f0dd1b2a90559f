// Versions by name, and what is wrong with their dates.
#include "grammar/lower/versions.hpp"

#include <algorithm>
#include <limits>
#include <utility>

#include "engine/quantity/calendar.hpp"
#include "grammar/lower/literals.hpp"

namespace meniscus::grammar {
namespace {

constexpr std::int64_t kFirstDay = std::numeric_limits<std::int64_t>::min();
constexpr std::int64_t kLastDay = std::numeric_limits<std::int64_t>::max();

/// One declaration of a name.
struct Version {
  const void* declaration = nullptr;
  Name name;
  Name from;
  Name until;
  SourceId source = 0;
  std::int64_t first = kFirstDay;
  std::int64_t last = kLastDay;

  [[nodiscard]] bool dated() const { return !from.text.empty() || !until.text.empty(); }
};

std::string days_between(std::int64_t first, std::int64_t last) {
  if (first == kFirstDay && last == kLastDay) return "on every day";
  if (first == kFirstDay) return "until " + engine::format_day(last);
  if (last == kLastDay) return "from " + engine::format_day(first);
  if (first == last) return "on " + engine::format_day(first);
  return "from " + engine::format_day(first) + " to " + engine::format_day(last);
}

class VersionCheck {
 public:
  VersionCheck(Workspace& workspace, Names::Kind kind) : w_(workspace), kind_(kind) {}

  template <class Declaration>
  void add(SourceId source, const Declaration& declaration) {
    Version version{&declaration, declaration.name, declaration.from, declaration.until,
                    source,       kFirstDay,        kLastDay};
    version.first = read_day(w_.report, source, declaration.from).value_or(kFirstDay);
    version.last = read_day(w_.report, source, declaration.until).value_or(kLastDay);
    if (version.last < version.first) {
      w_.report.add(source, {Code::R0503,
                             declaration.until.span,
                             "the last day lies before the first",
                             {{declaration.from.span, "first day"}},
                             ""});
      w_.clashes.insert(&declaration);
      return;
    }
    names_[declaration.name.text].push_back(std::move(version));
  }

  void run() {
    for (auto& [name, versions] : names_) {
      if (versions.size() > 1) check(versions);
    }
  }

 private:
  void check(std::vector<Version>& versions) {
    std::stable_sort(versions.begin(), versions.end(),
                     [](const Version& a, const Version& b) { return a.first < b.first; });
    const Version* before = &versions.front();
    for (std::size_t i = 1; i < versions.size(); ++i) {
      const Version& version = versions[i];
      if (version.first <= before->last) {
        overlap(*before, version);
      } else if (before->last + 1 < version.first) {
        gap(*before, version);
      }
      if (version.last > before->last) before = &version;
    }
  }

  /// The later of the two in the files is the one that is wrong.
  void overlap(const Version& a, const Version& b) {
    if (!a.dated() && !b.dated()) return;  // a name that stands for two things: Names says so
    const bool turned =
        std::pair(b.source, b.name.span.begin) < std::pair(a.source, a.name.span.begin);
    const Version& first = turned ? b : a;
    const Version& second = turned ? a : b;
    w_.clashes.insert(second.declaration);
    Mistake mistake{Code::R0501,
                    second.name.span,
                    std::string(kind_name(kind_)) + " " + quoted(second.name.text) +
                        " has two versions " +
                        days_between(std::max(a.first, b.first), std::min(a.last, b.last)),
                    {},
                    "the other one stands in " + w_.report.place(first.source, first.name.span) +
                        "; let one end on the day before the other begins"};
    if (first.source == second.source) mistake.labels.push_back({first.name.span, "other version"});
    w_.report.add(second.source, std::move(mistake));
  }

  void gap(const Version& before, const Version& after) {
    w_.report.add(
        after.source,
        {Code::R0502,
         after.from.span,
         std::string(kind_name(kind_)) + " " + quoted(after.name.text) + " has no version " +
             days_between(before.last + 1, after.first - 1),
         {},
         "the version before stands in " + w_.report.place(before.source, before.name.span)});
  }

  Workspace& w_;
  Names::Kind kind_;
  std::map<std::string, std::vector<Version>> names_;
};

}  // namespace

std::optional<std::int64_t> day_of(const Name& text) {
  if (text.text.empty()) return std::nullopt;
  const auto date = engine::parse_date(text.text);
  if (!date || date->precision != engine::Precision::Day) return std::nullopt;
  return date->day();
}

Standing standing_on(std::int64_t day, const Name& from, const Name& until) {
  if (day > day_of(until).value_or(kLastDay)) return Standing::Over;
  return day < day_of(from).value_or(kFirstDay) ? Standing::Later : Standing::InForce;
}

void check_versions(Workspace& workspace) {
  VersionCheck settings(workspace, Names::Kind::Setting);
  VersionCheck tables(workspace, Names::Kind::Table);
  VersionCheck rules(workspace, Names::Kind::Rule);
  for (const Unit& unit : workspace.units) {
    for (const Setting& setting : unit.file->settings)
      settings.add(unit.source, setting);
    for (const TableDecl& table : unit.file->tables)
      tables.add(unit.source, table);
    for (const Rule& rule : unit.file->rules)
      rules.add(unit.source, rule);
  }
  settings.run();
  tables.run();
  rules.run();
}

namespace {

/// A span around one day that shrinks to the next days on which something changes.
class Surroundings {
 public:
  explicit Surroundings(std::int64_t day) : day_(day), span_{kFirstDay, kLastDay} {}

  void add_from(const Name& from) {
    if (const auto day = day_of(from)) add_change(*day);
  }
  void add_until(const Name& until) {
    const auto day = day_of(until);
    if (!day) return;
    add_change(*day + 1);
    add_change(*day - engine::kLongestDecision);  // from here on its end may be decided
  }
  [[nodiscard]] DaySpan span() const { return span_; }

 private:
  /// From `first` on something is otherwise than the day before.
  void add_change(std::int64_t first) {
    if (first <= day_) {
      span_.first = std::max(span_.first, first);
    } else {
      span_.last = std::min(span_.last, first - 1);
    }
  }

  std::int64_t day_;
  DaySpan span_;
};

}  // namespace

DaySpan unchanged_days(const Workspace& workspace) {
  Surroundings around(workspace.options.rules_day);
  const auto add = [&around](const auto& declarations) {
    for (const auto& each : declarations) {
      around.add_from(each.from);
      around.add_until(each.until);
    }
  };
  for (const Unit& unit : workspace.units) {
    add(unit.file->settings);
    add(unit.file->tables);
    add(unit.file->rules);
    for (const LocalChange& change : unit.file->changes)
      around.add_until(change.until);
  }
  return around.span();
}

}  // namespace meniscus::grammar
