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
#include <optional>
#include <span>
#include <vector>

#include "engine/eval/record_truths.hpp"
#include "engine/eval/text_rows.hpp"
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
  // Not 0: these facts and no others have it, so that what was found out about their records may be
  // kept when the walk goes to other orders and comes back.
  std::uint64_t turn = 0;
};

class Scalar {
 public:
  explicit Scalar(const Program& program);

  void begin(const OrderFacts& facts);
  /// Somebody has changed the nodes of the program (engine/proof does).
  void plan();

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
    std::vector<std::uint64_t> in_texts;  // rows that the order's texts leave (text_rows.hpp)
  };
  const Find& find(std::uint32_t lookup, bool scoped);

  /// The sources that speak of `record`, for this order: a bit for each.
  [[nodiscard]] unsigned sources_of(const HistoryRecord& record) const {
    return sources_of(record, facts_);
  }
  /// Is history known as far back as `query` looks, for this order?
  [[nodiscard]] bool reaches(const Query& query) const { return reaches(query, facts_); }
  [[nodiscard]] static bool reaches(const Query& query, const OrderFacts& facts);

  static constexpr std::uint32_t kNoLookUp = 0xFFFFFFFF;
  /// A part of a query's condition that is told from the record alone, without a walk.
  struct RecordTest {
    FieldId field{};
    NodeId other = kNoNode;            // the same word of the order; kNoNode: the field is given
    std::uint32_t lookup = kNoLookUp;  // compared is what this says for the record's word
    bool missing = false;              // without `other`: the field is missing
    bool guard = false;                // true where the condition `other` of the order is false
  };
  static constexpr std::size_t kMostTests = 4;
  /// By test: the order's word; kNoWord where it is missing or no table knows it.
  using WantedWords = std::array<Word, kMostTests>;
  static constexpr Word kPasses = 1;  // of a guard that is false
  /// The tests that every record must pass; at most kMostTests.
  [[nodiscard]] std::span<const RecordTest> tests_of(const Query& query) const {
    return plan_of(query).tests;
  }
  /// The value of a query about records where history is known and holds none that counts.
  Value answer_without_records(const Node& node);
  /// The value of a query about records for the order of `facts`, wherever the walk stands.
  /// Nothing when a record has to be walked for it.  `facts` has a turn, or no records.
  std::optional<Value> query_without_walk(const Node& node, const WantedWords& words,
                                          const OrderFacts& facts);

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
  /// Whether a condition is true, which is often less work than what it comes to.
  bool is_true(NodeId id);
  Truth one_of(const Node& node);
  [[nodiscard]] bool is_by_word(const Node& node) const;
  Value look_up(const Node& node);
  Value cell_of(const Node& node);
  Value look_up_every(const Node& node);
  Truth any_row(const Node& node);
  Truth any_item(const Node& node);
  Value query(const Node& node);
  Value query_list(const Query& query, const Node& node);
  /// One query for one order.
  struct RecordRun {
    const Query& query;
    const WantedWords& words;
    const OrderFacts& facts;
    bool may_walk = false;  // the walk stands at the order
    bool gave_up = false;   // a walk was needed: what was found does not count
    RecordTruths::Key key{};
  };
  Value query_records(const Node& node, RecordRun& run);
  Value choose_record(RecordRun& run);
  Value number_of_records(RecordRun& run, Dimension dimension);
  Value aggregate(RecordRun& run);
  static Value total_or_median(const Query& query, std::vector<Value>& amounts, bool open);
  void search(const LookUp& lookup, std::uint32_t number, Find& out);
  bool cannot_hold(NodeId where);
  Truth matches(const Node& node);
  /// What the order's texts rule out.
  struct TextFilter {
    bool filters = false;  // false: rules out nothing
    bool open = false;     // a text is missing
    bool one_is_enough = false;
    [[nodiscard]] bool passes_over(std::uint32_t row, const Find& found) const;
    [[nodiscard]] bool passes_over_all(const Find& found) const;
  };
  TextFilter text_filter(const LookUp& lookup, std::uint32_t number, Find& out);
  void try_row(const LookUp& lookup, std::uint32_t row, bool only_key, Find& out);
  bool try_next(const LookUp& lookup, const TextFilter& filter, std::uint32_t row, bool only_key,
                Find& out);
  void try_rows_of_key(const LookUp& lookup, std::uint32_t number, const TextFilter& filter,
                       Word key, Find& out);
  [[nodiscard]] const HistoryRecord* record_at(const Value& handle) const;

  /// What is known of a query before any order: tests that every record must pass, whether they are
  /// all of its condition, and the field that its value is.
  struct QueryPlan {
    std::vector<RecordTest> tests;  // at most kMostTests
    bool whole = true;
    std::optional<FieldId> value;
    std::optional<RecordTruths::Inputs> words;  // what the condition reads, where that is all words
  };
  void plan_query(const Query& query, QueryPlan& plan) const;
  [[nodiscard]] NodeId guard_of(NodeId where) const;
  bool plan_test(NodeId where, QueryPlan& plan) const;
  [[nodiscard]] bool is_record_field(NodeId id) const;
  [[nodiscard]] std::optional<RecordTest> record_word(NodeId id) const;
  /// What a query asks of most records, beside one another: records themselves are far apart.
  struct Concerned {
    const HistoryRecord* record = nullptr;
    std::uint32_t index = 0;
    Word substance = kNoWord;
    double when = 0;
    double day = 0;
  };
  static constexpr std::size_t kSources = 3;
  struct LaneRecords {
    std::uint64_t turn = 0;
    std::array<std::vector<Concerned>, kSources> of;
  };
  static void lay_out(LaneRecords& kept, const OrderFacts& facts);
  /// The records that `source` speaks of, newest first; found once for an order.
  const std::vector<Concerned>& concerned(QuerySource source, const OrderFacts& facts) {
    constexpr std::uint64_t kThisWalkOnly = std::uint64_t{1} << 63U;
    LaneRecords& kept = lane_records_[facts.lane];
    const std::uint64_t turn = facts.turn != 0 ? facts.turn : kThisWalkOnly | epoch_;
    if (kept.turn != turn) {
      kept.turn = turn;
      lay_out(kept, facts);
    }
    return kept.of[static_cast<std::size_t>(source)];
  }
  static unsigned sources_of(const HistoryRecord& record, const OrderFacts& facts);
  [[nodiscard]] const QueryPlan& plan_of(const Query& query) const {
    return plans_[static_cast<std::size_t>(&query - program_.queries.data())];
  }
  WantedWords wanted_by(const Query& query);
  [[nodiscard]] Word word_of(const RecordTest& test, const Concerned& about) const;
  [[nodiscard]] Truth tested(const QueryPlan& plan, const WantedWords& words,
                             const Concerned& about) const;
  Truth holds_for(RecordRun& run, const Concerned& about);
  Truth walk(RecordRun& run, NodeId where, const Concerned& about);
  Value value_of(RecordRun& run, const Concerned& about);

  /// Calls `each(record, truth of where)` from the newest back, until it says stop.
  template <class F>
  bool for_each_record(RecordRun& run, F&& each);

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
  TextRows text_rows_;
  RecordTruths record_truths_;
  std::vector<QueryPlan> plans_;  // by query
  /// Cells that are looked up by one word of a record, so that they are the same for all orders.
  struct Cell {
    std::uint32_t lookup = 0;
    Word key = kNoWord;
    Value value;
  };
  static constexpr std::size_t kCells = 256;  // a power of two
  static std::size_t cell_slot(std::uint32_t lookup, Word key) {
    return ((key ^ lookup) * 0x9E3779B97F4A7C15U >> 32U) % kCells;
  }
  std::vector<Cell> cells_;                // by hash
  std::vector<LaneRecords> lane_records_;  // by lane of the block
  std::vector<Value> amounts_;             // scratch for totals and medians
  std::vector<std::string_view> scratch_;  // texts of `look up every`, this order
};

}  // namespace meniscus::engine
