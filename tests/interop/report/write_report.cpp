// Writes the report of a summary: usage: write_report SUMMARY.json REPORT.html
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

#include "adapters/replay_report/html_report.hpp"

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "usage: write_report SUMMARY.json REPORT.html\n";
    return 2;
  }
  std::ifstream from(argv[1], std::ios::binary);
  const std::string summary{std::istreambuf_iterator<char>(from), {}};
  std::ofstream to(argv[2], std::ios::binary);
  to << meniscus::replay_report::html_report(summary);
  if (!from || !to.flush()) {
    std::cerr << "cannot read " << argv[1] << " or write " << argv[2] << '\n';
    return 1;
  }
  return 0;
}
