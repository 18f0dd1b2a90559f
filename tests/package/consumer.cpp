// A host of the installed libraries: compiles a rule from text and judges two orders with it.
#include <cstdio>
#include <memory>
#include <string>
#include <string_view>

#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"
#include "engine/order/field_text.hpp"
#include "grammar/compile.hpp"

namespace {

using namespace std::string_view_literals;
namespace engine = meniscus::engine;
namespace grammar = meniscus::grammar;

constexpr std::string_view kRule = R"(
rule barrel-too-small "The volume fits the barrel"
    concerns all orders
    raise hold when volume > syringe.capacity
        say "{volume} does not fit."
        blames volume
    without volume, syringe.capacity ignore
    cite "common practice"
    owner "pharmacy"
)";

void add_order(const engine::ReadContext& context, engine::OrderBlock& block,
               std::string_view volume) {
  const unsigned lane = block.add_lane();
  const engine::Origin nowhere{};
  engine::set_field(context, block, lane, engine::FieldId::OrderId, "A-1"sv, nowhere);
  engine::set_field(context, block, lane, engine::FieldId::Volume, volume, nowhere);
  engine::set_field(context, block, lane, engine::FieldId::SyringeCapacity, "1 mL"sv, nowhere);
}

}  // namespace

int main() {
  const grammar::Compiled compiled = grammar::compile({{"a.rule", std::string(kRule)}}, {});
  for (const engine::Diagnostic& diagnostic : compiled.diagnostics) {
    std::puts(engine::render(diagnostic).c_str());
  }
  if (!compiled.program) return 1;

  const engine::Feed feed;
  const engine::ReadContext context{compiled.program.get(), &feed};
  engine::OrderBlock block;
  add_order(context, block, "2 mL");
  add_order(context, block, "1 mL");

  engine::Checker checker(compiled.program, {});
  engine::History history(compiled.program->look_back, compiled.program->history_fields,
                          compiled.program->history_written);
  std::string outcomes;
  checker.check(block, history, [&](const engine::Verdict& verdict) {
    outcomes += engine::name(verdict.outcome);
    outcomes += ' ';
  });
  std::puts(outcomes.c_str());
  return outcomes == "hold clear " ? 0 : 1;
}
