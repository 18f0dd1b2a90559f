// Contract: see world.hpp.
#include "adapters/ranks/world.hpp"

#include <mpi.h>
#include <sched.h>

#include <algorithm>
#include <chrono>
#include <thread>

// MPI's names of communicators and types are macros with casts of C.
// NOLINTBEGIN(*-cstyle-cast, *-old-style-cast, bugprone-casting-through-void)
namespace meniscus::adapters {

namespace {
constexpr std::chrono::milliseconds kLongestPause{50};

/// Processors that this process may run on; 0: not known.
unsigned bound_processors() {
  cpu_set_t bound;
  CPU_ZERO(&bound);
  if (::sched_getaffinity(0, sizeof bound, &bound) != 0) return 0;
  return static_cast<unsigned>(CPU_COUNT(&bound));
}

/// The piece of a text that begins at `from`; empty behind its end.
std::string_view piece_of(std::string_view text, std::size_t from, std::size_t most) {
  return text.substr(std::min(from, text.size()), most);
}
}  // namespace

World::World() {
  int given = 0;
  MPI_Init_thread(nullptr, nullptr, MPI_THREAD_FUNNELED, &given);
  MPI_Comm_rank(MPI_COMM_WORLD, &rank_);
  MPI_Comm_size(MPI_COMM_WORLD, &size_);
  MPI_Comm machine = MPI_COMM_NULL;
  MPI_Comm_split_type(MPI_COMM_WORLD, MPI_COMM_TYPE_SHARED, rank_, MPI_INFO_NULL, &machine);
  MPI_Comm_size(machine, &beside_);
  MPI_Comm_free(&machine);
}

World::~World() { MPI_Finalize(); }

unsigned World::threads() const {
  const unsigned all = std::max(1U, std::thread::hardware_concurrency());
  const unsigned bound = bound_processors();
  // A rank that mpirun has bound to some processors has those for itself.
  if (bound > 0 && bound < all) return bound;
  return std::max(1U, all / static_cast<unsigned>(beside_));
}

std::int64_t World::agreed(std::int64_t number) const {
  MPI_Bcast(&number, 1, MPI_INT64_T, 0, MPI_COMM_WORLD);
  return number;
}

// MPI itself waits by asking again and again, which takes a processor from the ranks that work.
void World::wait_for_all() {
  MPI_Request all_here = MPI_REQUEST_NULL;
  MPI_Ibarrier(MPI_COMM_WORLD, &all_here);
  std::chrono::milliseconds pause{1};
  for (int here = 0;;) {
    MPI_Test(&all_here, &here, MPI_STATUS_IGNORE);
    if (here != 0) return;
    std::this_thread::sleep_for(pause);
    pause = std::min(2 * pause, kLongestPause);
  }
}

std::vector<std::string> World::gathered(std::string_view mine, std::size_t most) const {
  wait_for_all();
  const auto ranks = static_cast<std::size_t>(size_);
  const std::uint64_t length = mine.size();
  std::vector<std::uint64_t> lengths(ranks);
  MPI_Allgather(&length, 1, MPI_UINT64_T, lengths.data(), 1, MPI_UINT64_T, MPI_COMM_WORLD);
  const std::size_t piece = std::max(std::size_t{1}, most / ranks);
  const std::uint64_t longest = *std::max_element(lengths.begin(), lengths.end());
  std::vector<std::string> all(is_first() ? ranks : 0);
  for (std::uint64_t done = 0; done < longest; done += piece) {
    std::vector<int> counts;
    std::vector<int> places;
    int total = 0;
    for (const std::uint64_t one : lengths) {
      counts.push_back(static_cast<int>(std::min<std::uint64_t>(piece, one - std::min(done, one))));
      places.push_back(total);
      total += counts.back();
    }
    std::string round(is_first() ? static_cast<std::size_t>(total) : 0, '\0');
    const std::string_view part = piece_of(mine, done, piece);
    MPI_Gatherv(part.data(), static_cast<int>(part.size()), MPI_CHAR, round.data(), counts.data(),
                places.data(), MPI_CHAR, 0, MPI_COMM_WORLD);
    for (std::size_t i = 0; i < all.size(); ++i)
      all[i].append(round, static_cast<std::size_t>(places[i]),
                    static_cast<std::size_t>(counts[i]));
  }
  return all;
}

void World::end_all(int status) { MPI_Abort(MPI_COMM_WORLD, status); }

}  // namespace meniscus::adapters
// NOLINTEND(*-cstyle-cast, *-old-style-cast, bugprone-casting-through-void)
