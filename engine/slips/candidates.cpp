// The list of candidates (contract: candidates.hpp).
#include "engine/slips/candidates.hpp"

#include <algorithm>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::slips {
namespace {

struct KindInfo {
  int rank;
  std::string_view why;
};
constexpr std::array kKinds = {
#define SLIP(id, rank, why) KindInfo{rank, why},
#include "engine/slips/kinds.def"
#undef SLIP
};

bool same_change(const Candidate& a, const Candidate& b) {
  if (a.count != b.count) return false;
  for (std::size_t i = 0; i < a.count; ++i) {
    if (a.changes[i].field != b.changes[i].field) return false;
    if (!same_value(a.changes[i].value, b.changes[i].value)) return false;
  }
  return true;
}

}  // namespace

int rank(Kind kind) { return kKinds[static_cast<std::size_t>(kind)].rank; }
std::string_view why(Kind kind) { return kKinds[static_cast<std::size_t>(kind)].why; }

bool same_value(const Value& a, const Value& b) {
  return a.state == b.state && a.aux == b.aux && compare(a.number, b.number) == 0;
}

void Candidates::add(Kind kind, FieldId field, const Value& value, double size,
                     std::string_view unit) {
  Candidate candidate;
  candidate.kind = kind;
  candidate.count = 1;
  candidate.changes[0] = {field, value};
  candidate.size = size;
  candidate.unit = unit;
  add(candidate);
}

void Candidates::sort() {
  std::sort(list_.begin(), list_.end(), [](const Candidate& a, const Candidate& b) {
    return rank(a.kind) != rank(b.kind) ? rank(a.kind) < rank(b.kind) : a.number < b.number;
  });
}

void Candidates::add(const Candidate& candidate) {
  for (Candidate& known : list_) {
    if (!same_change(known, candidate)) continue;
    // Two ways to the same value: the commoner stands for both, and it is the likelier for that.
    const bool other = known.kind != candidate.kind;
    const bool commoner = rank(candidate.kind) < rank(known.kind) ||
                          (rank(candidate.kind) == rank(known.kind) && candidate.kind < known.kind);
    const bool twice = known.twice || other;
    const std::uint16_t number = known.number;
    if (commoner) known = candidate;
    known.number = number;
    known.twice = twice;
    return;
  }
  if (full()) return;
  list_.push_back(candidate);
  list_.back().number = static_cast<std::uint16_t>(list_.size());
}

}  // namespace meniscus::engine::slips
