// A whole order that is clear but for what a test changes in it.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace meniscus::rules_tests {

/// One line of JSON: a weekly injection with every part of it said, patched by `changes` (a JSON
/// merge patch, so null takes a member away).
inline std::string full_order(const char* changes) {
  nlohmann::json order = nlohmann::json::parse(R"({
    "order": {"id": "T-1", "action": "new", "placed": "2026-03-02"},
    "patient": {"id": "SM-0101", "born": "1988-04-02", "sex": "female", "weight": "64 kg",
                "weighed": "2026-02-20", "allergies": []},
    "substance": {"code": "cyanocobalamin"},
    "dose": "500 mcg", "strength": "1000 mcg/mL", "volume": "0.5 mL",
    "route": "intramuscular", "site": "deltoid", "side": "left",
    "syringe": {"capacity": "1 mL", "graduation": "0.01 mL", "scale": "mL",
                "needle": "detachable", "tip": "lock"},
    "needle": {"gauge": "23 G", "length": "1 in"},
    "draw-needle": {"gauge": "21 G", "length": "1 1/2 in"}, "technique": "two-needle",
    "schedule": {"every": "1 wk", "start": "2026-03-02", "last-given": "2026-02-23"},
    "vial": {"kind": "multi-dose", "volume": "10 mL", "expires": "2027-01-31"},
    "supply": {"vials": 1, "syringes": 4, "needles": 8, "doses": 4}})");
  order["vial"]["opened"] = nullptr;
  order.merge_patch(nlohmann::json::parse(changes));
  return order.dump() + "\n";
}

}  // namespace meniscus::rules_tests
