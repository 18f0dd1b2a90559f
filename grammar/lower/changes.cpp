// Reading local changes, and those of settings.  Rules: change_rules.cpp; tables:
// extend_tables.cpp.
#include "grammar/lower/changes.hpp"

#include <algorithm>
#include <utility>

#include "engine/base/one_line.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"
#include "grammar/lower/literals.hpp"
#include "grammar/lower/versions.hpp"

namespace meniscus::grammar {
namespace {

engine::ChangeKind kind_of(ChangeKind kind) {
  switch (kind) {
    case ChangeKind::Adjust:
      return engine::ChangeKind::Adjust;
    case ChangeKind::Regrade:
      return engine::ChangeKind::Regrade;
    case ChangeKind::Mute:
      return engine::ChangeKind::Mute;
    case ChangeKind::Retire:
      return engine::ChangeKind::Retire;
    case ChangeKind::Extend:
      return engine::ChangeKind::Extend;
  }
  return engine::ChangeKind::Adjust;
}

Names::Kind target_kind(ChangeKind kind) {
  switch (kind) {
    case ChangeKind::Adjust:
      return Names::Kind::Setting;
    case ChangeKind::Extend:
      return Names::Kind::Table;
    case ChangeKind::Regrade:
    case ChangeKind::Mute:
    case ChangeKind::Retire:
      break;
  }
  return Names::Kind::Rule;
}

class ChangeReader {
 public:
  ChangeReader(Workspace& workspace, const Unit& unit) : w_(workspace), source_(unit.source) {}

  void read(const LocalChange& ast, bool shipped) {
    if (shipped) {
      w_.report.add(source_, {Code::R0510,
                              ast.keyword,
                              "a local change stands in the shipped rules",
                              {},
                              "put it into a file of your own and name that with `--rules`"});
      return;
    }
    read_day(w_.report, source_, ast.until);  // says what is wrong with it
    engine::LocalChange out;
    out.kind = kind_of(ast.kind);
    out.target = ast.target.text;
    out.what = what(ast);
    out.because = ast.because;
    out.by = ast.by;
    const auto index = keep(std::move(out), ast.until, ast.keyword, "local change");
    if (!index || !w_.options.apply_changes) return;
    const ActiveChange change{&ast, source_, *index};
    if (!is_second(change)) w_.changes.push_back(change);
  }

  void read_trial(const Rule& rule) {
    engine::LocalChange out;
    out.kind = engine::ChangeKind::Trial;
    out.target = rule.name.text;
    out.what = "trial rule " + rule.name.text;
    out.because = rule.title;
    out.by = rule.owner;
    const auto index = keep(std::move(out), rule.until, rule.name.span, "trial");
    if (index) w_.trials.emplace(&rule, *index);
  }

 private:
  /// As written up to the reason.
  [[nodiscard]] std::string what(const LocalChange& ast) const {
    const std::string_view text = w_.report.source(source_)->slice(ast.span);
    std::uint32_t end = ast.target.span.end;
    for (const Name* part : {&ast.value, &ast.to_grade})
      end = std::max(end, part->span.end);
    end = std::max(end, ast.path_span.end);
    if (ast.scope) end = std::max(end, ast.scope->span.end);
    return engine::on_one_line(text.substr(0, end - ast.span.begin));
  }

  /// The row of a change in force; nothing for one that has ended or whose end is wrong.
  std::optional<std::uint32_t> keep(engine::LocalChange out, const Name& until, Span keyword,
                                    std::string_view thing) {
    const auto& text = w_.report.source(source_);
    out.file = text->name();
    out.line = text->locate(keyword.begin).line;
    out.until = day_of(until);
    const std::int64_t today = w_.options.rules_day;
    if (out.until && *out.until - today > engine::kLongestDecision) {
      w_.report.add(source_,
                    {Code::R0511,
                     until.span,
                     "the end is more than " + std::to_string(engine::kLongestDecision) +
                         " days after " + engine::format_day(today),
                     {},
                     "write a day up to `" + engine::format_day(today + engine::kLongestDecision) +
                         "` and decide again before it; or judge by the rules of a later "
                         "day (`--rules-as-of`)"});
      return std::nullopt;
    }
    out.over = standing_on(today, {}, until) == Standing::Over;
    if (out.over) {
      w_.report.add(source_, {Code::R0512,
                              until.span,
                              "this " + std::string(thing) + " ended on " + until.text +
                                  " and changes nothing any more",
                              {},
                              "remove it, or decide again and write a new day"});
    }
    const bool over = out.over;
    w_.program->changes.push_back(std::move(out));
    if (over) return std::nullopt;
    return static_cast<std::uint32_t>(w_.program->changes.size() - 1);
  }

  /// A setting has one value, and a grade becomes one other.
  bool is_second(const ActiveChange& change) {
    const LocalChange& ast = *change.ast;
    const auto same = [&](const ActiveChange& other) {
      if (other.ast->kind != ast.kind || other.ast->target.text != ast.target.text) return false;
      return ast.kind == ChangeKind::Adjust || ast.kind == ChangeKind::Retire ||
             (ast.kind == ChangeKind::Regrade && other.ast->from_grade.text == ast.from_grade.text);
    };
    const auto first = std::find_if(w_.changes.begin(), w_.changes.end(), same);
    if (first == w_.changes.end()) return false;
    Mistake mistake{Code::R0514,
                    ast.target.span,
                    quoted(w_.program->changes[first->index].what) + " is in force already",
                    {},
                    "keep one of the two; the other one stands in " +
                        w_.report.place(first->source, first->ast->keyword)};
    if (first->source == source_) mistake.labels.push_back({first->ast->target.span, "first here"});
    w_.report.add(source_, std::move(mistake));
    return true;
  }

  Workspace& w_;
  SourceId source_;
};

/// One adjusted setting.
class Adjustment {
 public:
  Adjustment(Workspace& workspace, const ActiveChange& change)
      : w_(workspace), change_(change), value_(change.ast->value) {}

  void run() {
    const auto declared = target_of(w_, change_);
    if (!declared || value_.text.empty()) return;
    engine::Setting& setting = w_.program->settings[declared->index];
    const auto literal = read_setting_literal(value_.text);
    if (!literal) {
      report({Code::R0229, value_.span, literal.error().message, {}, ""});
      return;
    }
    if (!fits(*literal, setting, *declared)) return;
    engine::LocalChange& row = w_.program->changes[change_.index];
    const bool was_set = setting.value.known();
    row.what += " (shipped: " + (was_set ? std::string(setting.value.text) : "unset") + ")";
    const engine::Value& now = literal->value;
    if (was_set && now.number == setting.value.number && now.aux == setting.value.aux) {
      report({Code::R0515,
              value_.span,
              quoted(setting.name) + " is " + quoted(setting.value.text) + " already",
              {},
              "remove this change"});
      return;
    }
    setting.value = now;
    setting.value.text = w_.program->keep(value_.text);
    setting.type = literal->type;
    setting.percent = literal->percent;
    if (literal->type == engine::Type::Quantity) {
      setting.dimension = engine::Dimension::from_bits(now.aux);
    }
  }

 private:
  void report(Mistake mistake) { w_.report.add(change_.source, std::move(mistake)); }

  bool fits(const Literal& literal, const engine::Setting& setting, const Declared& declared) {
    const bool known = setting.value.known() || setting.least || setting.most;
    const std::string place =
        "the setting stands in " + w_.report.place(declared.source, declared.span);
    if (known && literal.type != setting.type) {
      report({Code::R0225,
              value_.span,
              quoted(value_.text) + " is no value for " + quoted(setting.name),
              {},
              place});
      return false;
    }
    const bool quantity = literal.type == engine::Type::Quantity;
    const engine::Dimension dimension =
        quantity ? engine::Dimension::from_bits(literal.value.aux) : engine::Dimension{};
    if (known && quantity && dimension != setting.dimension) {
      report({Code::R0222,
              value_.span,
              quoted(value_.text) + " is a " + engine::describe(dimension) + "; " +
                  quoted(setting.name) + " is a " + engine::describe(setting.dimension),
              {},
              place});
      return false;
    }
    return in_range(literal, setting, declared, place);
  }

  bool in_range(const Literal& literal, const engine::Setting& setting, const Declared& declared,
                const std::string& place) {
    const bool low = setting.least && engine::compare(literal.value.number, *setting.least) < 0;
    const bool high = setting.most && engine::compare(literal.value.number, *setting.most) > 0;
    if (!low && !high) return true;
    const Setting& ast = *w_.settings[declared.index];
    report({Code::R0425,
            value_.span,
            quoted(value_.text) + " is outside what is permitted for " + quoted(setting.name) +
                ": between " + quoted(ast.least.text) + " and " + quoted(ast.most.text),
            {},
            place});
    return false;
  }

  Workspace& w_;
  const ActiveChange& change_;
  const Name& value_;
};

}  // namespace

std::optional<Declared> target_of(Workspace& workspace, const ActiveChange& change) {
  const Names::Kind kind = target_kind(change.ast->kind);
  const Name& target = change.ast->target;
  const auto declared = workspace.names.known(kind, target, change.source);
  if (!declared || declared->source != change.source) return declared;
  workspace.report.add(change.source, {Code::R0510,
                                       target.span,
                                       "this " + std::string(kind_name(kind)) +
                                           " is your own: it stands in the same file",
                                       {{declared->span, "here"}},
                                       "change it where it stands, and leave this out"});
  return std::nullopt;
}

void read_changes(Workspace& workspace) {
  for (const Unit& unit : workspace.units) {
    ChangeReader reader(workspace, unit);
    for (const LocalChange& change : unit.file->changes)
      reader.read(change, unit.shipped);
    for (const Rule& rule : unit.file->rules) {
      if (rule.trial && standing(workspace, rule) != Standing::Later) reader.read_trial(rule);
    }
  }
}

void adjust_settings(Workspace& workspace) {
  for (const ActiveChange& change : workspace.changes) {
    if (change.ast->kind == ChangeKind::Adjust) Adjustment(workspace, change).run();
  }
}

bool is_retired(const Workspace& workspace, const Name& rule) {
  return std::any_of(
      workspace.changes.begin(), workspace.changes.end(), [&](const ActiveChange& change) {
        return change.ast->kind == ChangeKind::Retire && change.ast->target.text == rule.text;
      });
}

}  // namespace meniscus::grammar
