// Writes the synthetic year, or its key, to standard output.
//
// usage: meniscus_make_year [rich|sparse|key|profile] [ORDERS] [SEED] [DEFECTS PER THOUSAND]
#include <cstdlib>
#include <iostream>
#include <string>

#include "tests/year/year.hpp"

int main(int argc, char** argv) {
  using namespace meniscus::year;  // NOLINT(google-build-using-namespace)
  const std::string what = argc > 1 ? argv[1] : "rich";
  YearOptions options;
  if (argc > 2) options.orders = std::strtoul(argv[2], nullptr, 10);
  if (argc > 3) options.seed = std::strtoul(argv[3], nullptr, 10);
  if (argc > 4) options.defects_per_thousand = std::atoi(argv[4]);  // NOLINT(cert-err34-c)
  if (what == "sparse") options.form = Form::Sparse;
  if (what == "profile") {
    std::cout << sparse_profile();
    return 0;
  }
  Year year(options);
  if (what == "key") std::cout << "order,defect,rules\n";
  Line line;
  while (year.next(line)) {
    if (what != "key") {
      std::cout << line.text;
    } else if (line.defect != kNoDefect) {
      const Defect& found = defect(static_cast<std::size_t>(line.defect));
      std::cout << line.id << ',' << found.name << ',' << found.rules << '\n';
    }
  }
  return 0;
}
