// Settings and defines.
#include <utility>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"
#include "grammar/lower/expression.hpp"
#include "grammar/lower/literals.hpp"
#include "grammar/lower/rules.hpp"
#include "grammar/lower/versions.hpp"

namespace meniscus::grammar {
namespace {

using engine::Dimension;

class SettingLowering {
 public:
  SettingLowering(Workspace& workspace, SourceId source, const Setting& ast)
      : w_(workspace), source_(source), ast_(ast) {}

  /// Reads the setting; keeps it where it is in force, or, as an unset one, where no other version
  /// of it is.
  void run(Standing standing) {
    const bool in_force = standing == Standing::InForce;
    const bool wanted = in_force || !w_.names.find(Names::Kind::Setting, ast_.name.text);
    if (!wanted && standing == Standing::Over) return;
    const auto index = static_cast<std::uint32_t>(w_.program->settings.size());
    if (wanted && !w_.names.declare(Names::Kind::Setting, ast_.name, source_, index)) return;
    out_.name = ast_.name.text;
    out_.title = ast_.title;
    if (!ast_.unset && !ast_.value.text.empty()) read_value();
    const auto least = read_limit(ast_.least);
    const auto most = read_limit(ast_.most);
    if (least) out_.least = least->value.number;
    if (most) out_.most = most->value.number;
    out_.least_text = ast_.least.text;
    out_.most_text = ast_.most.text;
    check_limits();
    if (!wanted) return;
    if (!in_force) not_in_force();
    w_.program->settings.push_back(std::move(out_));
    w_.settings.push_back(&ast_);
  }

 private:
  void report(Mistake mistake) { w_.report.add(source_, std::move(mistake)); }

  void not_in_force() {
    out_.value = engine::Value::missing();
    if (w_.clashes.count(&ast_) > 0) return;  // its dates were reported
    report({Code::R0505,
            ast_.name.span,
            "setting " + quoted(ast_.name.text) + " has no version on " +
                engine::format_day(w_.options.rules_day) + ", so it counts as unset",
            {},
            "what needs it is not assessed; add a version without the missing date"});
  }

  std::optional<Literal> read(const Name& text) {
    auto literal = read_setting_literal(text.text);
    if (literal) return *literal;
    report({Code::R0229, text.span, literal.error().message, {}, ""});
    return std::nullopt;
  }

  void read_value() {
    const auto literal = read(ast_.value);
    if (!literal) return;
    out_.value = literal->value;
    out_.value.text = w_.program->keep(ast_.value.text);
    out_.type = literal->type;
    out_.percent = literal->percent;
    if (literal->type == Type::Quantity) {
      out_.dimension = Dimension::from_bits(literal->value.aux);
      known_ = true;
    }
  }

  /// A limit has the setting's dimension, and gives it to one that is unset.
  std::optional<Literal> read_limit(const Name& text) {
    if (text.text.empty()) return std::nullopt;
    const auto literal = read(text);
    if (!literal) return std::nullopt;
    const bool quantity = literal->type == Type::Quantity;
    const Dimension dimension = Dimension::from_bits(literal->value.aux);
    if (quantity && !known_ && out_.value.state == engine::State::Missing) {
      out_.dimension = dimension;
      out_.percent = literal->percent;
      known_ = true;
    }
    if (quantity && known_ && dimension == out_.dimension) return literal;
    report({Code::R0426,
            text.span,
            "the limit " + quoted(text.text) + " does not fit the setting, which is a " +
                (known_ ? engine::describe(out_.dimension) : std::string("word")),
            {},
            ""});
    return std::nullopt;
  }

  void check_limits() {
    if (out_.least && out_.most && engine::compare(*out_.least, *out_.most) > 0) {
      report({Code::R0426,
              ast_.least.span,
              quoted(ast_.least.text) + " is more than " + quoted(ast_.most.text),
              {},
              "write the smaller limit first"});
      return;
    }
    if (!out_.value.known()) return;
    const bool low = out_.least && engine::compare(out_.value.number, *out_.least) < 0;
    const bool high = out_.most && engine::compare(out_.value.number, *out_.most) > 0;
    if (!low && !high) return;
    const Name& limit = low ? ast_.least : ast_.most;
    report({Code::R0425,
            ast_.value.span,
            quoted(ast_.value.text) + (low ? " is less than " : " is more than ") +
                quoted(limit.text) + ", the " + (low ? "least" : "most") + " that is allowed",
            {{limit.span, "limit"}},
            ""});
  }

  Workspace& w_;
  SourceId source_;
  const Setting& ast_;
  engine::Setting out_;
  bool known_ = false;  // out_.dimension is
};

}  // namespace

void lower_settings(Workspace& workspace) {
  for (const Standing wanted : {Standing::InForce, Standing::Later, Standing::Over}) {
    for (const Unit& unit : workspace.units) {
      for (const Setting& setting : unit.file->settings) {
        if (standing(workspace, setting) != wanted) continue;
        SettingLowering(workspace, unit.source, setting).run(wanted);
      }
    }
  }
}

void lower_defines(Workspace& workspace) {
  for (const Unit& unit : workspace.units) {
    for (const Let& define : unit.file->defines) {
      const auto index = static_cast<std::uint32_t>(workspace.defines.size());
      if (!workspace.names.declare(Names::Kind::Define, define.name, unit.source, index)) continue;
      workspace.defines.push_back({&define, unit.source, kNoNode, Progress::Waiting});
    }
  }
  for (NamedValue& define : workspace.defines) {
    Scope scope;
    scope.source = define.source;
    const NodeId node = ExpressionLowering(workspace, scope).named_value(define, define.let->name);
    workspace.program->defines.emplace_back(define.let->name.text, node);
  }
}

}  // namespace meniscus::grammar
