// A code compared with the word of a group: `substance.code is insulin` does not take in
// `insulin-glargine`, as each word stands for itself.  A word counts as a group's when the table
// has two or more that begin with it and a hyphen.
#include <set>
#include <string>
#include <string_view>

#include "engine/order/field.hpp"
#include "grammar/check/suggest.hpp"
#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {
namespace {

using engine::FieldKind;

constexpr std::size_t kLeastMembers = 2;

class GroupWordChecks {
 public:
  GroupWordChecks(Workspace& workspace, SourceId source) : w_(workspace), source_(source) {}

  void read(const Expr& expr) {
    const ExprKind kind = expr.kind;
    if (kind == ExprKind::Is || kind == ExprKind::IsNot || kind == ExprKind::IsOneOf ||
        kind == ExprKind::IsNotOneOf) {
      comparison(expr);
    }
    for (const ExprPtr& kid : expr.kids)
      if (kid) read(*kid);
  }

 private:
  /// The field of the order, or of an earlier or active one, when it is a code.
  [[nodiscard]] static std::optional<engine::FieldId> code_field(const Expr& expr) {
    if (expr.kind != ExprKind::Path) return std::nullopt;
    std::string_view name = expr.text;
    for (const std::string_view record : {"earlier.", "active."}) {
      if (name.substr(0, record.size()) == record) name.remove_prefix(record.size());
    }
    const auto field = engine::field_named(name);
    if (!field || engine::info(*field).kind != FieldKind::Code) return std::nullopt;
    return field;
  }

  void comparison(const Expr& expr) {
    const auto field = code_field(*expr.kids.front());
    if (!field) return;
    for (std::size_t i = 1; i < expr.kids.size(); ++i) {
      const Expr& word = *expr.kids[i];
      if (word.kind == ExprKind::Path || word.kind == ExprKind::String) check(word, *field);
    }
  }

  void check(const Expr& word, engine::FieldId field) {
    const auto& known = w_.program->vocabularies[static_cast<std::size_t>(field)];
    const auto* group = known.find(word.text);
    if (group == nullptr) return;
    std::set<std::string_view> members;
    for (const auto& [spelling, entry] : known.entries()) {
      if (entry.name.size() > group->name.size() + 1 &&
          entry.name.compare(0, group->name.size() + 1, group->name + "-") == 0) {
        members.insert(entry.name);
      }
    }
    if (members.size() >= kLeastMembers) report(word, group->name, members);
  }

  void report(const Expr& word, const std::string& group,
              const std::set<std::string_view>& members) {
    std::string named;
    for (const std::string_view member : members)
      named += (named.empty() ? "" : ", ") + std::string(member);
    w_.report.add(source_, {Code::R0602,
                            word.span,
                            quoted(group) + " stands for itself alone; it can never hold for " +
                                quoted(*members.begin()) + " and others that begin so",
                            {},
                            "name those that are meant: `is one of " + named + "`"});
  }

  Workspace& w_;
  SourceId source_;
};

}  // namespace

void check_group_words(Workspace& workspace) {
  each_expression(workspace, [&](SourceId source, const Expr& expr) {
    GroupWordChecks(workspace, source).read(expr);
  });
}

}  // namespace meniscus::grammar
