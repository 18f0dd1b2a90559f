// The resources of one record, and what refers to what.
//
// References: `#id` to a contained resource of the same one; a URL or urn to the entry with that
//             fullUrl; `Type/id` (with or without `/_history/v`) to the one resource of the record
//             that has it.  Two that fit are none: which is meant is not known.
// Source:     FHIR R4, References, Bundle ("Resolving references in Bundles").
#pragma once

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "adapters/fhir/json_tree.hpp"

namespace meniscus::adapters::fhir {

class Resources {
 public:
  /// The root of a record: a Bundle, or a resource by itself.
  void index(Element root);

  /// What stands in a Bundle's `entry[].resource`, or the root itself; in order.
  [[nodiscard]] const std::vector<Element>& all() const { return all_; }
  /// The resource that `reference` (an object of type Reference) of `owner` means; none where it
  /// is not in the record.
  [[nodiscard]] Element resolve(Element reference, Element owner) const;
  /// Resources of `type` whose subject or patient is the one that `reference` of `owner` means.
  [[nodiscard]] std::vector<Element> about(std::string_view type, Element reference,
                                           Element owner) const;

 private:
  void add(Element resource, Element entry);
  [[nodiscard]] Element find(std::string_view reference) const;
  [[nodiscard]] std::string subject_of(Element reference, Element owner) const;

  std::vector<Element> all_;
  std::unordered_map<std::string, Element> by_name_;  // an element that is none: several fit
  std::unordered_map<std::string, std::vector<Element>> about_;  // by type and subject
};

/// Of a literal reference to `type` its id: `p1` of `Patient/p1` or
/// `http://x/Patient/p1/_history/2`.
std::string_view id_in_reference(std::string_view reference, std::string_view type);

}  // namespace meniscus::adapters::fhir
