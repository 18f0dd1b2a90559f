// Measures the alert burden of the shipped rules and prints the report (`./dev burden`).
//
// usage: meniscus_burden RULES [ORDERS] [SEED]     remarks on single orders go to standard error
#include <cstdlib>
#include <iostream>
#include <string>

#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "tests/year/burden.hpp"

int main(int argc, char** argv) {
  namespace year = meniscus::year;
  if (argc < 2) {
    std::cerr << "usage: meniscus_burden RULES [ORDERS] [SEED]\n";
    return 3;
  }
  const meniscus::adapters::LoadedRules loaded =
      meniscus::adapters::load_rules({argv[1]}, meniscus::adapters::re2_patterns());
  if (loaded.program == nullptr) {
    std::cerr << "meniscus_burden: the rules have mistakes\n";
    return 3;
  }
  year::YearOptions options;
  if (argc > 2) options.orders = std::strtoul(argv[2], nullptr, 10);
  if (argc > 3) options.seed = std::strtoul(argv[3], nullptr, 10);
  const year::Measured measured = year::measure_all(loaded.program, options);
  for (const std::string& remark : measured.rich.remarks)
    std::cerr << "rich: " << remark << '\n';
  for (const std::string& remark : measured.sparse.remarks)
    std::cerr << "sparse: " << remark << '\n';
  std::cout << year::report(*loaded.program, options, measured);
  return 0;
}
