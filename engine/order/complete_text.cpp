// What only text says, read into the fields that it belongs to (contract: field_text.hpp).
#include "engine/order/complete_text.hpp"

namespace meniscus::engine {

void complete(const ReadContext& context, OrderBlock& block, unsigned lane) {
  derive_age(block, lane);
  derive_substance(context, block, lane);
}

}  // namespace meniscus::engine
