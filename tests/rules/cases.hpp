// Order cases: orders as JSON Lines with what a careful colleague would say of the last one.
//
// File:  blocks parted by blank lines; the head of the file (lines with `# ` and no number) is for
//        people.  A block is `# K001 title`, perhaps `source TEXT`, one or more lines
//        `expect OUTCOME [from RULE] [or ...]`, then orders; the last order is judged, those before
//        it are the patient's history.
#pragma once

#include <fstream>
#include <ostream>
#include <sstream>
#include <string>
#include <vector>

namespace meniscus::rules_tests {

struct Expected {
  std::string outcome;
  std::string rule;  // empty: only the outcome counts
};

struct Case {
  std::string number;
  std::string title;
  std::string source;              // where such an error was reported
  std::vector<Expected> expected;  // one of these; what follows is for further lines
  std::vector<std::vector<Expected>> further;
  std::string orders;  // JSON Lines
  std::size_t count = 0;
};

inline std::ostream& operator<<(std::ostream& os, const Case& c) {
  return os << c.number << ", " << c.title;
}

/// `hold from allergy or clarify` as its alternatives.
inline std::vector<Expected> read_expected(const std::string& text) {
  std::vector<Expected> all(1);
  std::istringstream words(text);
  for (std::string word; words >> word;) {
    if (word == "or") {
      all.emplace_back();
    } else if (word == "from") {
      words >> all.back().rule;
    } else {
      all.back().outcome = word;
    }
  }
  return all;
}

/// The cases of a file; empty when it cannot be read.
inline std::vector<Case> read_cases(const std::string& path) {
  std::vector<Case> cases;
  std::ifstream file(path);
  for (std::string line; std::getline(file, line);) {
    const bool titled = line.size() > 3 && line.starts_with("# ") && line[2] >= 'A' &&
                        line[2] <= 'Z' && line[3] >= '0' && line[3] <= '9';
    if (titled) {
      const std::size_t blank = line.find(' ', 2);
      Case& added = cases.emplace_back();
      added.number = line.substr(2, blank - 2);
      added.title = line.substr(blank + 1);
    } else if (line.starts_with("expect ") && !cases.empty()) {
      Case& last = cases.back();
      if (last.expected.empty()) {
        last.expected = read_expected(line.substr(7));
      } else {
        last.further.push_back(read_expected(line.substr(7)));
      }
    } else if (line.starts_with("source ") && !cases.empty()) {
      cases.back().source = line.substr(7);
    } else if (line.starts_with("{") && !cases.empty()) {
      cases.back().orders += line + "\n";
      ++cases.back().count;
    }
  }
  return cases;
}

}  // namespace meniscus::rules_tests
