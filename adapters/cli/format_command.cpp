// `meniscus rules format`: rule files in the one layout (contract: rules_command.hpp).
//
// Writes:   a file whose layout changes, first beside itself and then in its place, so that it is
//           whole at any time; what a link leads to, not the link.
// Output:   standard output holds what was done, or with `-` the text alone; mistakes and what
//           could not be read or written go to standard error.
#include <array>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
#include <system_error>
#include <vector>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/input/byte_sources.hpp"
#include "adapters/rules/rule_files.hpp"
#include "engine/base/diagnostic.hpp"
#include "grammar/format.hpp"

namespace meniscus::adapters {

namespace {
namespace fs = std::filesystem;
using engine::Errc;
using engine::Error;
using engine::Result;
using engine::Status;

Result<std::string> standard_input() {
  auto source = open_bytes("-");
  if (!source) return source.error();
  std::string text;
  std::array<char, std::size_t{16} << 10U> piece{};
  while (true) {
    const auto got = (*source)->read(piece.data(), piece.size());
    if (!got) return got.error();
    if (*got == 0) return text;
    text.append(piece.data(), *got);
  }
}

Status replace_file(const std::string& path, std::string_view text) {
  std::error_code problem;
  fs::path target = fs::canonical(path, problem);
  if (problem) target = path;
  const fs::path draft = target.string() + ".new-layout";
  std::ofstream out(draft, std::ios::binary | std::ios::trunc);
  out.write(text.data(), static_cast<std::streamsize>(text.size()));
  out.close();
  bool written = out.good();
  if (written) {
    fs::permissions(draft, fs::status(target, problem).permissions(), problem);
    fs::rename(draft, target, problem);
    written = !problem;
  }
  if (written) return engine::Done{};
  fs::remove(draft, problem);
  return Error{Errc::Input, "cannot write " + path + "; it is as it was", 0, 0};
}

class FormatRun {
 public:
  FormatRun(const Arguments& arguments, const Console& console)
      : arguments_(arguments), console_(console) {}

  ExitStatus run() {
    for (const std::string& path : arguments_.files) {
      if (path == "-") {
        stream();
        continue;
      }
      const auto files = rule_files_at(path);
      if (!files) {
        fail(files.error(), ExitStatus::Usage);
        continue;
      }
      for (const std::string& each : *files)
        file(each);
    }
    if (files_ > 0) summarise();
    return status_;
  }

 private:
  void fail(const Error& error, ExitStatus status) {
    console_.complain(error.message);
    status_ = worst(status_, status);
  }

  grammar::Formatted formatted(const std::string& name, const std::string& text) {
    grammar::Formatted result = grammar::format(name, text);
    for (const engine::Diagnostic& diagnostic : result.diagnostics)
      console_.say_err(render(diagnostic) + '\n');
    if (!result.good) status_ = worst(status_, ExitStatus::Usage);
    return result;
  }

  /// What cannot be formatted goes out as it came in, so that a pipe loses nothing.
  void stream() {
    const auto text = standard_input();
    if (!text) return fail(text.error(), ExitStatus::Usage);
    const grammar::Formatted result = formatted("standard input", *text);
    if (!arguments_.only_check) return console_.say(result.text);
    if (result.text != *text) would_change("standard input");
  }

  void file(const std::string& path) {
    ++files_;
    const auto text = read_file(path);
    if (!text) return fail(text.error(), ExitStatus::Usage);
    const grammar::Formatted result = formatted(path, *text);
    if (result.text == *text) return;
    if (arguments_.only_check) return would_change(path);
    if (const Status written = replace_file(path, result.text); !written) {
      return fail(written.error(), ExitStatus::Internal);
    }
    ++changed_;
    console_.say("formatted " + path + "\n");
  }

  void would_change(const std::string& name) {
    ++changed_;
    console_.say("would change " + name + "\n");
    status_ = worst(status_, ExitStatus::Found);
  }

  void summarise() {
    const std::string done = arguments_.only_check ? " would change\n" : " changed\n";
    console_.say(counted(files_, "file") + ", " + std::to_string(changed_) + done);
  }

  const Arguments& arguments_;  // both outlive the run
  const Console& console_;
  ExitStatus status_ = ExitStatus::Clean;
  std::size_t files_ = 0;
  std::size_t changed_ = 0;
};
}  // namespace

ExitStatus run_rules_format(const Arguments& arguments, const Console& console) {
  return FormatRun(arguments, console).run();
}

}  // namespace meniscus::adapters
