// Evaluates expressions for one order: a walk over the program's nodes.
//
// Used for: live orders, rules that look at history, the texts of findings, and whatever the
// columns
//           leave to it.  Equal subexpressions of one order are worked out once (memo).
// Reuse:    begin() starts the next order without freeing anything.
// Threads:  one Scalar a thread.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "engine/history/history.hpp"
#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

/// What evaluation is told about one order, beside its fields.
struct OrderFacts {
  const OrderBlock* block = nullptr;
  unsigned lane = 0;
  Value today;                                // Date: the day the order is judged as of
  Value planned_day;                          // Date: schedule.start, else today
  const History::Records* records = nullptr;  // of its patient; null: none
  double since = History::kAlways;            // what came before it (local seconds) is not known
  Word id = kNoWord;
  Word filler = kNoWord;
};

class Scalar {
 public:
  explicit Scalar(const Program& program);

  void begin(const OrderFacts& facts);

  Value value(NodeId id);
  Truth truth(NodeId id);

  [[nodiscard]] const OrderFacts& facts() const { return facts_; }
  [[nodiscard]] const Program& program() const { return program_; }
  /// Texts of a list value (Type::Texts), for showing.
  [[nodiscard]] std::vector<std::string_view> texts(const Value& list) const;
  /// The rows that a look-up's condition may hold for: held for certain, and open for lack of data.
  struct Find {
    std::uint32_t epoch = 0;
    std::vector<std::uint32_t> held;
    std::vector<std::uint32_t> open;
  };
  const Find& find(std::uint32_t lookup, bool scoped);

  /// Is `record` one that `source` speaks of, for this order?
  [[nodiscard]] bool concerns(const HistoryRecord& record, QuerySource source) const;
  /// Is history known as far back as `query` looks, for this order?
  [[nodiscard]] bool reaches(const Query& query) const;

 private:
  struct Memo {
    std::uint32_t epoch = 0;
    Truth truth = Truth::Unknown;
    Value value;
  };
  struct Scope {
    std::uint32_t table = 0;
    std::uint32_t row = 0;
    const ListItem* item = nullptr;
    const ListItem* previous = nullptr;
    const HistoryRecord* record = nullptr;
    std::uint32_t record_index = 0;
  };

  Value work_out(const Node& node);
  Truth decide(const Node& node);
  [[nodiscard]] Value leaf(const Node& node) const;
  Value record_part(const Node& node);
  [[nodiscard]] static Value list_value(std::uint64_t first, std::uint64_t count);
  Truth asked(const Node& node);
  Truth logic(const Node& node);
  Truth one_of(const Node& node);
  Value look_up(const Node& node);
  Value look_up_every(const Node& node);
  Truth any_row(const Node& node);
  Truth any_item(const Node& node);
  Value query(const Node& node);
  Value query_list(const Query& query, const Node& node);
  Value choose_record(const Query& query);
  Value aggregate(const Query& query, const Node& node);
  Value total_or_median(const Query& query, bool open);
  void search(const LookUp& lookup, std::uint32_t number, Find& out);
  bool cannot_hold(NodeId where);
  Truth matches(const Node& node);
  /// What the words of the order's texts rule out.
  struct TextFilter {
    const std::vector<std::uint64_t>* bits = nullptr;  // by row; null: rules out nothing
    std::uint64_t present = 0;
    bool open = false;  // a text is missing
    bool one_is_enough = false;
    [[nodiscard]] bool passes_over(std::uint32_t row, const Find& found) const;
  };
  TextFilter text_filter(const LookUp& lookup, std::uint32_t number);
  void try_row(const LookUp& lookup, std::uint32_t row, bool only_key, Find& out);
  [[nodiscard]] const HistoryRecord* record_at(const Value& handle) const;

  /// Calls `each(record, truth of where)` from the newest back, until it says stop.
  template <class F>
  bool for_each_record(const Query& query, F&& each);

  /// Short texts come again and again (`50 mg`): what a pattern said of one is remembered.
  struct Matched {
    std::uint32_t pattern = 0;
    std::uint8_t length = 0;  // 0: empty
    bool found = false;
    std::array<char, 26> text{};
  };

  const Program& program_;
  OrderFacts facts_;
  Scope scope_;
  std::uint32_t epoch_ = 0;
  std::vector<Memo> memo_;
  std::vector<Find> finds_;
  std::vector<Find> scoped_finds_;  // by depth
  std::size_t find_depth_ = 0;
  std::vector<std::uint32_t> rows_;  // scratch
  std::vector<Matched> matched_;
  std::vector<Value> amounts_;             // scratch for totals and medians
  std::vector<std::string_view> scratch_;  // texts of `look up every`, this order
};

}  // namespace meniscus::engine
