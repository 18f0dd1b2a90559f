// Evaluates expressions over the columns of a block: up to 64 orders for one walk of a node.
//
// Truths:   three masks a node (true, unknown, void); logic is a few bit operations for 64 orders.
// Values:   a column of numbers and of aux words, masks for known, none and any; no text.
// Leaves:   fields are read where the block holds them; constants are spread once.
// The rest: table searches, text, lists and mechanics are worked out by the tree walk (scalar.hpp)
//           and remembered by what they depend on (recall.hpp); history is asked by its code, lane
//           by lane, with words from the columns.  So both give the same answers by construction
//           there; where columns do the work themselves, tests compare them with the tree walk.
// Lazy:     a node is worked out for the lanes that somebody asks for, once a block.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "engine/eval/recall.hpp"
#include "engine/eval/scalar.hpp"
#include "engine/eval/text_ids.hpp"

namespace meniscus::engine {

struct TruthColumn {
  Lanes done = 0;
  Lanes holds = 0;
  Lanes unknown = 0;
  Lanes none = 0;  // void
};

/// The masks stand together, apart from the numbers: they are cleared for every block.
struct ValueColumn {
  Lanes done = 0;
  Lanes known = 0;
  Lanes none = 0;
  Lanes any = 0;
  double* number = nullptr;  // kLanes each, owned by the Columns
  std::uint64_t* aux = nullptr;
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

  /// `facts`: one a lane of the block; their `records` may be filled in later, before a lane's
  /// history is asked for.
  void begin(const OrderBlock& block, std::span<const OrderFacts> facts);

  const TruthColumn& truth(NodeId id, Lanes lanes);
  ValueView value(NodeId id, Lanes lanes);

  /// The tree walk, set to `lane`.
  Scalar& scalar_at(unsigned lane);
  [[nodiscard]] const OrderFacts& facts(unsigned lane) const { return facts_[lane]; }
  /// Somebody else has set the tree walk to a lane.
  void scalar_moved() { scalar_lane_ = kLanes; }
  void scalar_stands_at(unsigned lane) { scalar_lane_ = lane; }

  /// The value of a node in one lane, with its text where its type has one.  Numbers and records
  /// that columns have worked out are not worked out again.
  Value shown(NodeId id, unsigned lane);

 private:
  ValueColumn& slot(NodeId id) { return values_[value_slot_[id]]; }
  void clear_used();
  void clear_recalled();
  [[nodiscard]] static ValueView view(const ValueColumn& column);
  [[nodiscard]] static ValueView view(const OrderBlock::Column& column);
  void spread_constants();
  void plan_recall();

  // What is remembered by its inputs (columns_recall.cpp).
  RecallAnswers* answers_of(NodeId id) {
    return recall_slot_[id] == 0 ? nullptr : &recalls_[recall_slot_[id] - 1];
  }
  const RecallKeys& keys_for(std::uint32_t key_set, Lanes lanes);
  std::uint32_t codes_for(const RecallInput& input);
  void fill_codes(InputCodes& codes, Lanes lanes);
  void fill_texts(InputCodes& codes, Lanes lanes);
  void fill_values(InputCodes& codes, const ValueView& values, Lanes lanes);
  void number_list(InputCodes& codes, unsigned lane, std::uint64_t list);
  template <class Answer, class Put>
  void answers_for(NodeId id, std::uint32_t key_set, std::vector<Answer>& kept, Lanes lanes,
                   Put put);
  void ask(NodeId id, unsigned lane, RecallAnswers::ValueAnswer& answer);
  void ask(NodeId id, unsigned lane, RecallAnswers::TruthAnswer& answer);
  void recall(NodeId id, RecallAnswers& answers, ValueColumn& out, Lanes lanes);
  void recall_truth(NodeId id, RecallAnswers& answers, TruthColumn& out, Lanes lanes);

  Value value_without_text(NodeId id, unsigned lane);

  void work_out(NodeId id, ValueColumn& out, Lanes lanes);
  void arithmetic(const Node& node, ValueColumn& out, Lanes lanes);
  void unary(const Node& node, ValueColumn& out, Lanes lanes);
  void or_else(const Node& node, ValueColumn& out, Lanes lanes);
  void choose(const Node& node, ValueColumn& out, Lanes lanes);
  void kinds(const Node& node, ValueColumn& out, Lanes lanes);
  void record_parts(const Node& node, ValueColumn& out, Lanes lanes);
  static void put(ValueColumn& out, unsigned lane, const Value& value);
  void by_lane(NodeId id, ValueColumn& out, Lanes lanes);
  [[nodiscard]] Lanes may_be_known(EngineValue value) const;
  void written(const Node& node, ValueColumn& out, Lanes lanes);
  void dates_after(const Node& node, ValueColumn& out, Lanes lanes);
  ValueView wanted_by(const Scalar::RecordTest& test, Lanes lanes);
  static Word wanted_word(const Scalar::RecordTest& test, const ValueView& wanted, unsigned lane);
  void query(NodeId id, ValueColumn& out, Lanes lanes);

  void decide(NodeId id, TruthColumn& out, Lanes lanes);
  void compare_columns(const Node& node, TruthColumn& out, Lanes lanes);
  void between(const Node& node, TruthColumn& out, Lanes lanes);
  void differs(const Node& node, TruthColumn& out, Lanes lanes);
  void one_of(const Node& node, TruthColumn& out, Lanes lanes);
  void asked(const Node& node, TruthColumn& out, Lanes lanes);
  void multiples(const Node& node, TruthColumn& out, Lanes lanes);
  void any_item(NodeId id, TruthColumn& out, Lanes lanes);
  void bands(const Node& node, TruthColumn& out, Lanes lanes);
  void decide_by_lane(NodeId id, TruthColumn& out, Lanes lanes);
  static void put(TruthColumn& out, Lanes lanes, Lanes holds, Lanes unknown, Lanes none);

  const Program& program_;
  Scalar& scalar_;
  const OrderBlock* block_ = nullptr;
  std::span<const OrderFacts> facts_;
  unsigned scalar_lane_ = kLanes;
  std::vector<TruthColumn> truths_;        // by node
  std::vector<std::uint32_t> value_slot_;  // by node
  std::vector<ValueColumn> values_;        // constants first
  std::vector<std::array<double, kLanes>> numbers_;
  std::vector<std::array<std::uint64_t, kLanes>> auxes_;
  std::size_t constants_ = 0;
  std::vector<NodeId> used_truths_;  // that have lanes of the block
  std::vector<std::uint32_t> used_values_;

  std::vector<std::uint32_t> recall_slot_;  // by node: 1 + index in recalls_, 0 when none
  std::vector<RecallAnswers> recalls_;
  std::vector<RecallKeys> keys_;
  std::vector<InputCodes> codes_;
  std::vector<std::uint32_t> used_keys_;  // of the block
  std::vector<std::uint32_t> used_codes_;
  TextIds text_ids_;
  std::string list_text_;  // scratch
};

}  // namespace meniscus::engine
