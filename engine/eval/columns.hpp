// Evaluates expressions over the columns of a block: up to 64 orders for one walk of a node.
//
// Truths:   three masks a node (true, unknown, void); logic is a few bit operations for 64 orders.
// Values:   a column of numbers and of aux words, masks for known, none and any.
// Leaves:   fields are read where the block holds them; constants are spread once.
// The rest: history, text and what depends on a row go to the tree walk (scalar.hpp) lane by lane,
//           so both give the same answers by construction there; where the columns do the work
//           themselves, tests compare them with the tree walk.
// Lazy:     a node is worked out for the lanes that somebody asks for, once a block.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

struct TruthColumn {
  Lanes done = 0;
  Lanes holds = 0;
  Lanes unknown = 0;
  Lanes none = 0;  // void
};

struct ValueColumn {
  Lanes done = 0;
  Lanes known = 0;
  Lanes none = 0;
  Lanes any = 0;
  std::array<double, kLanes> number{};
  std::array<std::uint64_t, kLanes> aux{};
};

/// A column as read: of a node, or of the block itself.
struct ValueView {
  Lanes known = 0;
  Lanes none = 0;
  Lanes any = 0;
  const double* number = nullptr;
  const std::uint64_t* aux = nullptr;
};

class Columns {
 public:
  /// `scalar` is used for what columns do not do; it must outlive this.
  Columns(const Program& program, Scalar& scalar);
  ~Columns();

  /// `facts`: one a lane of the block.
  void begin(const OrderBlock& block, std::span<const OrderFacts> facts);

  const TruthColumn& truth(NodeId id, Lanes lanes);
  ValueView value(NodeId id, Lanes lanes);

  /// The tree walk, set to `lane`.
  Scalar& scalar_at(unsigned lane);

 private:
  /// One condition of a look-up that is free of the row on one side: `row.C is E`, `row.C includes
  /// E`, `E is in row.C`.
  struct Conjunct {
    Op op{};
    std::uint32_t column = 0;
    NodeId node = kNoNode;
    Type type{};
  };
  /// A look-up's search in columns: possible when every conjunct has the shape above.
  struct FindPlan {
    bool simple = false;
    std::uint32_t lookup = 0;
    std::vector<Conjunct> rest;  // beside the key
    Lanes done = 0;
    std::array<std::int32_t, kLanes> row{};  // >= 0: the row; kNoRow; kAsk: ask the tree walk
  };
  static constexpr std::int32_t kNoRow = -1;
  static constexpr std::int32_t kAsk = -2;

  ValueColumn& slot(NodeId id) { return values_[value_slot_[id]]; }
  [[nodiscard]] static ValueView view(const ValueColumn& column);
  void plan_finds();
  bool plan_conjuncts(NodeId where, const LookUp& lookup, FindPlan& plan) const;
  bool plan_conjunct(NodeId id, const LookUp& lookup, FindPlan& plan) const;
  void find_rows(FindPlan& plan, Lanes lanes);
  [[nodiscard]] std::int32_t find_row(const FindPlan& plan, unsigned lane, const ValueView& key,
                                      std::span<const ValueView> rest) const;
  [[nodiscard]] Truth row_holds(const FindPlan& plan, std::uint32_t row, unsigned lane,
                                std::span<const ValueView> rest) const;

  void work_out(NodeId id, ValueColumn& out, Lanes lanes);
  void arithmetic(const Node& node, ValueColumn& out, Lanes lanes);
  void unary(const Node& node, ValueColumn& out, Lanes lanes);
  void or_else(const Node& node, ValueColumn& out, Lanes lanes);
  void choose(const Node& node, ValueColumn& out, Lanes lanes);
  void look_up(NodeId id, ValueColumn& out, Lanes lanes);
  void by_lane(NodeId id, ValueColumn& out, Lanes lanes);

  void decide(NodeId id, TruthColumn& out, Lanes lanes);
  void compare_columns(const Node& node, TruthColumn& out, Lanes lanes);
  void between(const Node& node, TruthColumn& out, Lanes lanes);
  void differs(const Node& node, TruthColumn& out, Lanes lanes);
  void one_of(const Node& node, TruthColumn& out, Lanes lanes);
  void asked(const Node& node, TruthColumn& out, Lanes lanes);
  void any_row(NodeId id, TruthColumn& out, Lanes lanes);
  void decide_by_lane(NodeId id, TruthColumn& out, Lanes lanes);
  static void put(TruthColumn& out, Lanes lanes, Lanes holds, Lanes unknown, Lanes none);

  const Program& program_;
  Scalar& scalar_;
  const OrderBlock* block_ = nullptr;
  std::span<const OrderFacts> facts_;
  unsigned scalar_lane_ = kLanes;
  std::vector<TruthColumn> truths_;        // by node
  std::vector<std::uint32_t> value_slot_;  // by node
  std::vector<ValueColumn> values_;
  std::vector<FindPlan> finds_;  // by find number
};

}  // namespace meniscus::engine
