// Contract: see marks.hpp.
#include "adapters/report/marks.hpp"

namespace meniscus::adapters {

std::string_view mark(engine::Outcome outcome) {
  using engine::Outcome;
  switch (outcome) {
    case Outcome::Clear:
      return "[    ]";
    case Outcome::Note:
      return "[=   ]";
    case Outcome::Caution:
      return "[==  ]";
    case Outcome::Incomplete:
      return "[==? ]";
    case Outcome::Clarify:
      return "[=== ]";
    case Outcome::Hold:
      return "[====]";
    case Outcome::Outside:
      return "[ -- ]";
    case Outcome::Recorded:
      return "[ ++ ]";
  }
  return "";
}

}  // namespace meniscus::adapters
