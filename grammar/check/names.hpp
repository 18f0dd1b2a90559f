// What the files of a rule set declare: settings, tables, defines and rules, each name once.
//
// Names of settings, defines and fields (and, inside a rule, of its lets) share one space, because
// they stand in the same places; tables and rules have a space each.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "grammar/check/report.hpp"
#include "grammar/check/suggest.hpp"
#include "grammar/frontend/ast.hpp"

namespace meniscus::grammar {

/// Where a name was declared, and its place in the list of its kind.
struct Declared {
  std::uint32_t index = 0;
  SourceId source = 0;
  engine::Span span;
};

class Names {
 public:
  enum class Kind : std::uint8_t { Setting, Define, Table, Rule };

  explicit Names(Report& report) : report_(report) {}

  /// False, with a diagnostic, when the name is taken; the first one stays.
  bool declare(Kind kind, const Name& name, SourceId source, std::uint32_t index);
  /// Reports a let's name that is taken by a field, a define or a setting.
  bool free_for_let(const Name& name, SourceId source);

  [[nodiscard]] std::optional<Declared> find(Kind kind, std::string_view name) const;
  /// As find(); an unknown name is reported where it stands, with the nearest one.
  [[nodiscard]] std::optional<Declared> known(Kind kind, const Name& name, SourceId source) const;
  /// Offers every name of a kind.
  void offer(Kind kind, Nearest& nearest) const;

 private:
  using Space = std::map<std::string, Declared, std::less<>>;
  [[nodiscard]] const Space& space(Kind kind) const {
    return spaces_[static_cast<std::size_t>(kind)];
  }
  bool shadows(const Name& name, SourceId source, Kind other);

  Report& report_;
  Space spaces_[4];
};

/// "setting", "define", "table" or "rule".
std::string_view kind_name(Names::Kind kind);

/// Offers the name of every field.
void offer_fields(Nearest& nearest);

/// Reports a second declaration, pointing at the first.
void report_twice(Report& report, std::string_view what, const Name& name, SourceId source,
                  const Declared& first);

}  // namespace meniscus::grammar
