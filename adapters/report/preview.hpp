// What a rule file would change on given orders: each verdict with it beside the one without it.
//
//   Preview preview(own);                 // the rules that stand in the file
//   preview.keep(lane, verdict);          // without the file, for every lane of a block ...
//   preview.compare(lane, verdict, at);   // ... then with it
//   out += preview.text();
//
// Stopped:  an order whose outcome is `clarify` or `hold`.
// Counted:  orders that are judged; what cannot be read, is no injection or is recorded only is
//           counted apart.
// Privacy:  examples name the order and its place, never the patient.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/ports/order_source.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

class Preview {
 public:
  using PlaceOf = std::function<engine::Place()>;

  /// `own`: names of the rules that the file adds; may be empty, where it only changes others.
  explicit Preview(std::set<std::string, std::less<>> own) : own_(std::move(own)) {}

  void keep(const engine::Verdict& without);
  void compare(const engine::Verdict& with, const PlaceOf& place);

  [[nodiscard]] std::size_t orders() const { return orders_; }
  /// Orders on which a rule of the file speaks, or is on trial and would speak.
  [[nodiscard]] std::size_t spoken() const { return spoken_; }
  [[nodiscard]] std::size_t newly_stopped() const { return newly_stopped_; }
  [[nodiscard]] std::size_t no_longer_stopped() const { return no_longer_stopped_; }
  /// Orders whose findings or outcome are not what they were.
  [[nodiscard]] std::size_t changed() const { return changed_; }

  /// A few lines for people.
  [[nodiscard]] std::string text() const;

 private:
  using Said = std::pair<std::string, engine::Grade>;  // rule, grade
  struct Before {
    engine::Outcome outcome{};
    std::vector<Said> said;
  };
  struct RuleCounts {
    std::array<std::size_t, 4> by_grade{};
    std::size_t on_trial = 0;
    std::size_t not_assessed = 0;
    std::map<std::string, std::size_t> missing;
  };
  struct Example {
    unsigned rank = 0;  // 0: newly stopped, which people want to see first
    std::string head;
    std::vector<std::string> lines;
  };

  void count_missing(const std::vector<Said>& said, const std::vector<Said>& other,
                     std::size_t column);
  bool count_rules(const engine::Verdict& with);
  unsigned count_outcome(engine::Outcome before, engine::Outcome after);
  void offer(unsigned rank, const Before& before, const engine::Verdict& with,
             const engine::Place& place);

  [[nodiscard]] std::string head() const;
  static std::string counts_of(const RuleCounts& counts);

  static constexpr std::size_t kExamples = 3;

  std::set<std::string, std::less<>> own_;
  std::array<Before, engine::kLanes> before_;
  std::size_t orders_ = 0;
  std::size_t unread_ = 0;
  std::size_t others_ = 0;  // outside, recorded
  std::size_t spoken_ = 0;
  std::size_t changed_ = 0;
  std::size_t newly_stopped_ = 0;
  std::size_t no_longer_stopped_ = 0;
  std::size_t newly_incomplete_ = 0;
  std::map<std::string, RuleCounts, std::less<>> rules_;              // own rules
  std::map<std::string, std::array<std::size_t, 2>> others_changed_;  // spoke less, spoke more
  std::vector<Example> examples_;                                     // best first
};

}  // namespace meniscus::adapters
