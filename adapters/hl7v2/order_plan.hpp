// Which segments of a message are those of one order (order_reader.hpp says how they are found).
#pragma once

namespace meniscus::adapters::hl7v2 {

/// The segments of one order, as indexes into Message::segments(); -1 where there is none.
struct OrderPlan {
  int orc = -1;
  int rxo = -1;
  int rxe = -1;
  int rxg = -1;
  int rxd = -1;
  int rxa = -1;
  int begin = 0;  // segments [begin, end) belong to it
  int end = 0;

  /// The segment that says what is given.
  [[nodiscard]] int detail() const;
};

}  // namespace meniscus::adapters::hl7v2
