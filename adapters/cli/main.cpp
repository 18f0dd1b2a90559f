// The program: arguments in, exit status out.  Everything else is in adapters/cli/run.cpp.
#include <exception>
#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "adapters/support/heap_pages.hpp"

int main(int argc, char** argv) {
  namespace cli = meniscus::adapters;
  cli::HeapPages pages;
  cli::Console console = cli::process_console(argc > 0 ? argv[0] : nullptr);
  console.heap = &pages;
  try {
    const std::vector<std::string> arguments(argv + (argc > 0 ? 1 : 0), argv + argc);
    return static_cast<int>(cli::run_program(arguments, console));
  } catch (const std::exception& problem) {
    // Nothing of ours throws: this is a third party's, or memory has run out.
    console.complain(std::string("internal error: ") + problem.what());
    return static_cast<int>(cli::ExitStatus::Internal);
  }
}
