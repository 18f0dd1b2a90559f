// Declarations: each name once, and none that hides another.
#include "grammar/check/names.hpp"

#include "engine/order/field.hpp"

namespace meniscus::grammar {
namespace {

constexpr std::string_view kKindNames[] = {"setting", "define", "table", "rule"};

}  // namespace

std::string_view kind_name(Names::Kind kind) { return kKindNames[static_cast<std::size_t>(kind)]; }

void report_twice(Report& report, std::string_view what, const Name& name, SourceId source,
                  const Declared& first) {
  Mistake mistake{Code::R0202,
                  name.span,
                  std::string(what) + " " + quoted(name.text) + " stands for two things",
                  {},
                  "the first one stands in " + report.place(first.source, first.span)};
  if (first.source == source) mistake.labels.push_back({first.span, "first here"});
  report.add(source, std::move(mistake));
}

bool Names::shadows(const Name& name, SourceId source, Kind other) {
  const auto taken = find(other, name.text);
  if (!taken) return false;
  Mistake mistake{
      Code::R0203,
      name.span,
      quoted(name.text) + " is a " + std::string(kind_name(other)) + " already",
      {},
      "choose another name; that one stands in " + report_.place(taken->source, taken->span)};
  report_.add(source, std::move(mistake));
  return true;
}

bool Names::free_for_let(const Name& name, SourceId source) {
  if (engine::field_named(name.text)) {
    report_.add(source, {Code::R0203,
                         name.span,
                         quoted(name.text) + " is a field of the order already",
                         {},
                         "choose another name"});
    return false;
  }
  return !shadows(name, source, Kind::Define) && !shadows(name, source, Kind::Setting);
}

bool Names::declare(Kind kind, const Name& name, SourceId source, std::uint32_t index) {
  Space& own = spaces_[static_cast<std::size_t>(kind)];
  if (const auto first = own.find(name.text); first != own.end()) {
    report_twice(report_, kind_name(kind), name, source, first->second);
    return false;
  }
  own.emplace(name.text, Declared{index, source, name.span});
  if (kind == Kind::Table || kind == Kind::Rule) return true;
  if (engine::field_named(name.text)) {
    report_.add(source, {Code::R0203,
                         name.span,
                         quoted(name.text) + " is a field of the order already",
                         {},
                         "choose another name"});
    return true;
  }
  shadows(name, source, kind == Kind::Setting ? Kind::Define : Kind::Setting);
  return true;
}

std::optional<Declared> Names::find(Kind kind, std::string_view name) const {
  const auto at = space(kind).find(name);
  if (at == space(kind).end()) return std::nullopt;
  return at->second;
}

std::optional<Declared> Names::known(Kind kind, const Name& name, SourceId source) const {
  const auto declared = find(kind, name.text);
  if (declared || name.text.empty()) return declared;
  Nearest nearest(name.text);
  offer(kind, nearest);
  const Code code = kind == Kind::Rule    ? Code::R0212
                    : kind == Kind::Table ? Code::R0207
                                          : Code::R0201;
  report_.add(source, {code,
                       name.span,
                       "no " + std::string(kind_name(kind)) + " is named " + quoted(name.text),
                       {},
                       nearest.help()});
  return std::nullopt;
}

void Names::offer(Kind kind, Nearest& nearest) const {
  for (const auto& [name, declared] : space(kind))
    nearest.offer(name);
}

void offer_fields(Nearest& nearest) {
  for (const engine::FieldInfo& field : engine::fields())
    nearest.offer(field.name);
}

}  // namespace meniscus::grammar
