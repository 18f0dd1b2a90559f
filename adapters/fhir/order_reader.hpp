// One record's orders into the lanes of a block.
//
//   if (reader.begin(record, info)) while (!block.full() && reader.read_next(block)) ...
//
// An order:  each MedicationRequest, MedicationDispense and MedicationAdministration; instructions
//            that hold beside one another (the same Dosage.sequence) are an order each, those that
//            follow one another are the steps of one.
// Skipped:   other resources of a Bundle: what orders refer to is read from there, the rest is
//            counted in one lane of the Bundle.
// Refused:   a resource that is no order (outside), and what cannot be read as one (unreadable),
//            each with its reason and place.
// Fields:    docs/formats-fhir.md has the map.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "adapters/fhir/json_tree.hpp"
#include "adapters/fhir/order_fields.hpp"
#include "adapters/fhir/resources.hpp"
#include "engine/order/field_text.hpp"

namespace meniscus::adapters::fhir {

class OrderReader {
 public:
  explicit OrderReader(const engine::ReadContext& context);
  OrderReader(const OrderReader&) = delete;
  OrderReader& operator=(const OrderReader&) = delete;

  /// Takes a record without JSON problems.  Its text must live until it is done.
  void begin(const engine::RecordInfo& record);
  /// Fills the next lane.  Not to be called when it is done.
  void read_next(engine::OrderBlock& block);
  [[nodiscard]] bool is_done() const { return next_ == plans_.size(); }
  [[nodiscard]] const JsonTree& tree() const { return tree_; }

 private:
  /// One lane to be.
  struct Plan {
    Element resource;
    OrderType type = OrderType::Request;
    Instructions instructions;
    unsigned part = 0;  // of instructions beside one another, from 0
    engine::RecordKind kind = engine::RecordKind::Order;
    std::string reason;  // where it is no order
    Element where;
  };

  void plan_bundle(Element bundle);
  void plan_resource(Element resource, bool in_bundle);
  void plan_order(Element resource, OrderType type);
  void refuse(engine::RecordKind kind, std::string reason, Element where);
  [[nodiscard]] bool is_damaged(Element resource);
  void fill(engine::OrderBlock& block, unsigned lane, const Plan& plan);

  engine::ReadContext context_;
  engine::Feed number_feed_;
  engine::ReadContext numbers_;
  engine::RecordInfo record_;
  JsonTree tree_;
  Resources resources_;
  std::vector<Plan> plans_;
  std::size_t next_ = 0;
  std::vector<std::pair<std::string, unsigned>> skipped_;  // types, how many of each
};

}  // namespace meniscus::adapters::fhir
