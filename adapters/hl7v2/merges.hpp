// Messages that say that two patient records are of one person.
//
// Read:     ADT^A40 (merge patient - patient identifier list), and A34 and A18, which it replaces:
//           one group of PID and MRG after another.  The patient of the PID stands, the number in
//           MRG-1 (of type MR, else the first; before 2.3 it may be MRG-4) is no longer used.
// Not read: A41 to A51 and the events that undo a merge: they give a lane that says so, as any
//           other message without orders does.
// Source:   HL7 v2.5.1, chapter 3: 3.3.18, 3.3.34 and 3.3.40 (events), 3.4.10 (MRG).
#pragma once

#include <string>
#include <vector>

#include "adapters/hl7v2/lane.hpp"

namespace meniscus::adapters::hl7v2 {

/// The segments of one merge, as indexes into Message::segments(); -1 where there is none.
struct MergePlan {
  int pid = -1;
  int mrg = -1;
};

/// Whether the message is one that merges patients.
bool is_merge(const Message& message);

/// Its merges; a group without an MRG, and an MRG without a group, are there too.
void plan_merges(const Message& message, std::vector<MergePlan>& plans);

/// Fills a lane of a merge message: of kind Merge, or Unreadable with its reason.
void read_merge(const Lane& lane, const MergePlan& plan);

}  // namespace meniscus::adapters::hl7v2
