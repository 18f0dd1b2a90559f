// Contract: see console.hpp.
#include "adapters/cli/console.hpp"

#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <system_error>
#include <thread>

#include "adapters/support/host_time.hpp"

namespace meniscus::adapters {

namespace {
/// All of `bytes` to a file descriptor, however little it takes at a time.
engine::Status write_all(int descriptor, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) {
      return engine::Error{engine::Errc::Input,
                           std::string("the output could not be written: ") + std::strerror(errno),
                           0, 0};
    }
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return engine::Done{};
}

std::string environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::string() : value;
}

std::filesystem::path own_path(const char* argument_zero) {
  std::error_code problem;
  std::filesystem::path path = std::filesystem::read_symlink("/proc/self/exe", problem);
  if (!problem) return path;
  return argument_zero == nullptr ? std::filesystem::path() : std::filesystem::path(argument_zero);
}
}  // namespace

void Console::complain(std::string_view sentence) const {
  std::string text = "meniscus: ";
  append_plain(text, sentence);
  text += '\n';
  say_err(text);
}

// What stdout does not take makes the exit status (run.cpp); of stderr nothing is left to be said.
void Console::say(std::string_view text) const { static_cast<void>(out(text)); }

void Console::say_err(std::string_view text) const { static_cast<void>(err(text)); }

Console process_console(const char* argument_zero) {
  Console console;
  console.out = [](std::string_view bytes) { return write_all(STDOUT_FILENO, bytes); };
  console.err = [](std::string_view bytes) { return write_all(STDERR_FILENO, bytes); };
  console.in_is_terminal = ::isatty(STDIN_FILENO) == 1;
  console.out_is_terminal = ::isatty(STDOUT_FILENO) == 1;
  console.err_is_terminal = ::isatty(STDERR_FILENO) == 1;
  console.colour =
      console.out_is_terminal && environment("NO_COLOR").empty() && environment("TERM") != "dumb";
  console.program = own_path(argument_zero);
  console.rules_path = environment("MENISCUS_RULES");
  std::error_code problem;
  console.folder = std::filesystem::current_path(problem);
  console.variable = [](const std::string& name) { return environment(name.c_str()); };
  console.message_time = message_time;
  console.pause = [] {
    std::this_thread::sleep_for(std::chrono::milliseconds(200));
    return true;
  };
  console.local_day = local_day;
  console.today = local_day();
  return console;
}

}  // namespace meniscus::adapters
