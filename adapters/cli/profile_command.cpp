// Contract: see profile_command.hpp.
#include "adapters/cli/profile_command.hpp"

#include <utility>

#include "adapters/cli/inputs.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/profile/learn.hpp"
#include "adapters/profile/profile.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

namespace {
std::string problems_text(const ReadProfile& profile, const std::string& path) {
  std::string text;
  for (const InputProblem& problem : profile.problems) {
    append_plain(text, describe(problem, path));
    text += '\n';
  }
  return text;
}
}  // namespace

std::optional<engine::Feed> load_feed(const std::string& path, const engine::Program& program,
                                      const Console& console) {
  if (path.empty()) return engine::Feed{};
  ReadProfile profile = read_profile_file(path, &program);
  console.say_err(problems_text(profile, path));
  if (!profile.feed) console.complain("the profile has mistakes; nothing was judged");
  return std::move(profile.feed);
}

ExitStatus run_profile_lint(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  ExitStatus status = ExitStatus::Clean;
  for (const std::string& path : arguments.files) {
    const ReadProfile profile = read_profile_file(path, program.get());
    console.say(problems_text(profile, path));
    if (profile.feed) {
      console.say(path + ": no mistakes\n");
    } else {
      status = ExitStatus::Usage;
    }
  }
  return status;
}

ExitStatus run_profile_learn(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const engine::Feed feed;
  const engine::ReadContext context{program.get(), &feed};
  ProfileLearner learner;
  engine::OrderBlock block;
  ExitStatus status = ExitStatus::Clean;
  for (std::uint32_t file = 0; file < arguments.files.size(); ++file) {
    const auto input = open_input(arguments.files[file], arguments.from, file, context);
    if (!input) {
      console.complain(input.error().message);
      status = ExitStatus::Unread;
      continue;
    }
    while (input->source->next(block))
      learner.add(block);
  }
  if (learner.orders() == 0) {
    console.complain("there is no order to learn from");
    return ExitStatus::Unread;
  }
  console.say(learner.draft("feed"));
  return status;
}

}  // namespace meniscus::adapters
