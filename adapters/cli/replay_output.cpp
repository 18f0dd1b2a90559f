// Contract: see replay_output.hpp.
#include "adapters/cli/replay_output.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <system_error>

#include "adapters/replay/summary_text.hpp"
#include "adapters/replay_report/html_report.hpp"

namespace meniscus::adapters {

namespace {
std::string as_asked(const replay::Summary& summary, const Arguments& arguments) {
  const ReplayArguments& replay = arguments.replay;
  switch (replay.to) {
    case ReplayTo::Text:
      return replay::summary_text(summary);
    case ReplayTo::Json:
      return replay::summary_json(summary, replay.show_patients);
    case ReplayTo::JsonLines:
    case ReplayTo::Csv:
    case ReplayTo::Sarif:
    case ReplayTo::Junit:
      break;
  }
  return {};
}

engine::Error cannot_write(const std::string& path) {
  return {engine::Errc::Input,
          "cannot write " + path + ": " + std::generic_category().message(errno), 0, 0};
}
}  // namespace

engine::Status write_private_file(const std::string& path, std::string_view text) {
  const std::string unfinished = path + ".unfinished";
  const int file =
      ::open(unfinished.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, S_IRUSR | S_IWUSR);
  if (file < 0) return cannot_write(path);
  bool written = true;
  while (written && !text.empty()) {
    const ssize_t put = ::write(file, text.data(), text.size());
    if (put < 0 && errno == EINTR) continue;
    written = put >= 0;
    if (written) text.remove_prefix(static_cast<std::size_t>(put));
  }
  written = ::fsync(file) == 0 && written;
  const engine::Error problem = cannot_write(path);
  ::close(file);
  if (written && ::rename(unfinished.c_str(), path.c_str()) == 0) return engine::Done{};
  const engine::Error renamed = written ? cannot_write(path) : problem;
  ::unlink(unfinished.c_str());
  return renamed;
}

ExitStatus write_summary(const replay::Summary& summary, const Arguments& arguments,
                         const Console& console) {
  const ReplayArguments& replay = arguments.replay;
  console.say(as_asked(summary, arguments));
  if (replay.report.empty()) return ExitStatus::Clean;
  const std::string report =
      replay_report::html_report(replay::summary_json(summary, replay.show_patients));
  const engine::Status written = write_private_file(replay.report, report);
  if (written) return ExitStatus::Clean;
  console.complain(written.error().message);
  return ExitStatus::Internal;
}

}  // namespace meniscus::adapters
