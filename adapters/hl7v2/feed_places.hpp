// A feed's own places, with what is the same for all its messages worked out once.
#pragma once

#include <vector>

#include "engine/order/feed.hpp"

namespace meniscus::adapters::hl7v2 {

struct FeedPlace {
  const engine::Hl7Place* place = nullptr;  // of the feed
  bool of_patient = false;                  // it counts for all orders of a message
  bool is_date = false;
  bool takes_unit = false;
  bool as_before = false;  // in the segment that the place before it is in
};

/// In the order of the profile.  The feed must outlive them.
std::vector<FeedPlace> feed_places(const engine::Feed& feed);

}  // namespace meniscus::adapters::hl7v2
