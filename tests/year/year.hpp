// A synthetic year of the clinic "Slatemoor": orders, changes, stops and given injections as they
// would come over a feed, the same for the same seed, a share of them with one known defect each.
//
//   Year year({.seed = 1, .orders = 100000});
//   Line line;
//   while (year.next(line))
//     use(line.text, line.defect);
//
// Order:   by the time at which each record was written.
// Defects: an order with a defect is cancelled on the same day and followed by the right one, as a
//          pharmacy would see it.  So a defect never stays in a patient's history.
// Count:   `orders` counts what is judged: orders and changes, with and without defects.  Given
//          injections, stops and cancellations come on top.
// Memory:  a calendar of some 30 bytes a record; texts are made one by one.
// Threads: one year a thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "tests/year/defects.hpp"

namespace meniscus::year {

enum class Form : std::uint8_t {
  Rich,   // JSON Lines, all fields
  Sparse  // HL7 v2: patient, medicine with the strength in its name, dose, route, and no more
};

struct YearOptions {
  std::uint64_t seed = 1;
  std::size_t orders = 100000;
  int defects_per_thousand = 100;
  Form form = Form::Rich;
};

inline constexpr int kNoDefect = -1;

struct Line {
  std::string text;        // with its line end
  std::string id;          // of the order
  bool judged = false;     // an order or a change; else given, stop, cancel
  int defect = kNoDefect;  // number of the defect: defect(number)
};

class Year {
 public:
  explicit Year(const YearOptions& options);

  /// The next record; false after the last one.
  bool next(Line& line);

 private:
  void write(const Visit& visit);
  void write_order(const Visit& visit, Draft& draft, Random& random);
  void emit(const Draft& draft, bool judged, int defect);
  int spoil(const Case& sound, Draft& draft);
  std::string new_id();
  std::string& current_order(const Visit& visit);

  YearOptions options_;
  Calendar calendar_;
  std::size_t at_ = 0;
  std::size_t judged_ = 0;
  std::uint64_t ids_ = 0;
  std::deque<Line> ready_;
  std::vector<std::string> current_;    // by patient and plan: the order in force
  std::vector<Recent> recent_;          // by patient
  std::vector<std::uint32_t> defects_;  // by number: how often injected so far
};

/// All records of a year as one text: for benchmarks.
std::string make_year(const YearOptions& options);

/// The profile of the sparse form's feed (JSON).
std::string sparse_profile();

}  // namespace meniscus::year
