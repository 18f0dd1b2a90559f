// meniscus-ranks: `meniscus replay` in many processes, on one machine or many, started by mpirun.
#include <exception>
#include <string>
#include <vector>

#include "adapters/ranks/run_rank.hpp"
#include "adapters/ranks/world.hpp"

int main(int argc, char** argv) {
  namespace ranks = meniscus::adapters;
  const ranks::World world;
  const ranks::Console console = ranks::process_console(argc > 0 ? argv[0] : nullptr);
  try {
    const std::vector<std::string> words(argv + (argc > 0 ? 1 : 0), argv + argc);
    return static_cast<int>(ranks::run_rank(words, console, world));
  } catch (const std::exception& problem) {
    // Others may be waiting for this rank.
    console.complain(std::string("internal error: ") + problem.what());
    ranks::World::end_all(static_cast<int>(ranks::ExitStatus::Internal));
    return static_cast<int>(ranks::ExitStatus::Internal);
  }
}
