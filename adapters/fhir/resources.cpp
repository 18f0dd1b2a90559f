// Contract: see resources.hpp.
#include "adapters/fhir/resources.hpp"

namespace meniscus::adapters::fhir {
namespace {

/// `Type/id` at the end of a reference, without its version; empty where it has none.
std::string_view local_part(std::string_view reference) {
  const std::size_t version = reference.find("/_history/");
  reference = reference.substr(0, version);
  const std::size_t last = reference.rfind('/');
  if (last == std::string_view::npos || last == 0 || last + 1 == reference.size()) return {};
  const std::size_t before = reference.rfind('/', last - 1);
  return reference.substr(before == std::string_view::npos ? 0 : before + 1);
}

bool is_relative(std::string_view reference) {
  return reference.find(':') == std::string_view::npos;
}

Element subject_reference(Element resource) {
  const Element subject = resource["subject"];
  return subject.exists() ? subject : resource["patient"];
}

std::string about_key(std::string_view type, const std::string& subject) {
  return std::string(type) + " " + subject;
}

void add_name(std::unordered_map<std::string, Element>& names, std::string name, Element resource) {
  const auto [at, fresh] = names.emplace(std::move(name), resource);
  if (!fresh && at->second.begin() != resource.begin()) at->second = Element();
}

}  // namespace

void Resources::index(Element root) {
  all_.clear();
  by_name_.clear();
  about_.clear();
  if (root["resourceType"].text() != "Bundle") {
    add(root, {});
  } else {
    each(root["entry"], [&](Element entry) {
      const Element resource = entry["resource"];
      if (resource.exists()) add(resource, entry);
    });
  }
  const auto file = [&](Element resource, Element owner) {
    const std::string_view type = resource["resourceType"].text();
    if (type != "Observation" && type != "AllergyIntolerance") return;
    about_[about_key(type, subject_of(subject_reference(resource), owner))].push_back(resource);
  };
  for (const Element resource : all_) {
    file(resource, resource);
    each(resource["contained"], [&](Element contained) { file(contained, resource); });
  }
}

void Resources::add(Element resource, Element entry) {
  all_.push_back(resource);
  const std::string_view type = resource["resourceType"].text();
  const std::string_view id = resource["id"].text();
  const std::string_view url = entry["fullUrl"].text();
  if (!url.empty()) add_name(by_name_, std::string(url), resource);
  std::string name = std::string(type) + "/" + std::string(id);
  if (!type.empty() && !id.empty()) add_name(by_name_, name, resource);
  const std::string_view local = local_part(url);
  if (!local.empty() && local != name) add_name(by_name_, std::string(local), resource);
}

Element Resources::find(std::string_view reference) const {
  const std::string_view plain = reference.substr(0, reference.find("/_history/"));
  const auto found = by_name_.find(std::string(plain));
  return found == by_name_.end() ? Element() : found->second;
}

Element Resources::resolve(Element reference, Element owner) const {
  const std::string_view text = reference["reference"].text();
  if (text.empty()) return {};
  if (text.front() != '#') return find(text);
  Element found;
  each(owner["contained"], [&](Element contained) {
    if (!found.exists() && contained["id"].text() == text.substr(1)) found = contained;
  });
  return found;
}

std::string Resources::subject_of(Element reference, Element owner) const {
  const Element resolved = resolve(reference, owner);
  if (resolved.exists()) return "@" + std::to_string(resolved.begin());
  const std::string_view text = reference["reference"].text();
  return std::string(is_relative(text) ? local_part(text)
                                       : text.substr(0, text.find("/_history/")));
}

std::vector<Element> Resources::about(std::string_view type, Element reference,
                                      Element owner) const {
  const std::string subject = subject_of(reference, owner);
  if (subject.empty()) return {};
  const auto found = about_.find(about_key(type, subject));
  return found == about_.end() ? std::vector<Element>() : found->second;
}

std::string_view id_in_reference(std::string_view reference, std::string_view type) {
  const std::string_view local = local_part(reference);
  if (!local.starts_with(type) || local.size() <= type.size() + 1 || local[type.size()] != '/')
    return {};
  return local.substr(type.size() + 1);
}

}  // namespace meniscus::adapters::fhir
