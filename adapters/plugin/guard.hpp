// The edge to C: no exception passes it.
#pragma once

#include <new>

#include "adapters/plugin/complaint.hpp"

namespace meniscus::adapters {

/// Runs `work` (-> MeniscusStatus); what it throws becomes a status, said in `complaint`.
template <class Work>
MeniscusStatus guarded(Complaint& complaint, const Work& work) noexcept {
  try {
    complaint.clear();
    return work();
  } catch (const std::bad_alloc&) {
    return complaint.fall(MENISCUS_OUT_OF_MEMORY);
  } catch (...) {
    return complaint.fall(MENISCUS_INTERNAL);
  }
}

}  // namespace meniscus::adapters
