// Started by mpirun: every rank hands over texts of different lengths, in pieces of every size, and
// the first rank looks whether it has got them.  Exit status 1: not so.
#include <algorithm>
#include <cstdio>
#include <string>
#include <vector>

#include "adapters/ranks/world.hpp"

namespace {
/// What rank `rank` hands over in round `round`: some are empty.
std::string text_of(int rank, int round) {
  std::string text;
  for (int i = 0; i < (rank * 7 + round * 3) % 23; ++i)
    text += static_cast<char>('a' + (rank + i) % 26);
  return text;
}
}  // namespace

int main() {
  const meniscus::adapters::World world;
  int wrong = 0;
  int rounds = 0;
  for (const std::size_t most : {1, 2, 3, 5, 8, 64, 1'000'000}) {
    for (int round = 0; round < 20; ++round) {
      const auto all = world.gathered(text_of(world.rank(), round), most);
      if (!world.is_first()) {
        wrong += all.empty() ? 0 : 1;
        continue;
      }
      ++rounds;
      std::vector<std::string> expected(static_cast<std::size_t>(world.size()));
      for (int rank = 0; rank < world.size(); ++rank)
        expected[static_cast<std::size_t>(rank)] = text_of(rank, round);
      wrong += all == expected ? 0 : 1;
    }
  }
  wrong += world.agreed(100 + world.rank()) == 100 ? 0 : 1;
  if (world.is_first()) std::printf("%d ranks, %d rounds, %d wrong\n", world.size(), rounds, wrong);
  return std::min(wrong, 1);
}
