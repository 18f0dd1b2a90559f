// The tables of the shipped rules: every row says where it is from, and what one table names
// another knows.
//
// Checked against the world: least bores lie inside the outer diameters of ISO 9626:2016 (from
// memory)
//          and do not exceed the nominal bores of the needle gauge comparison chart (looked up);
//          U-100, U-40 and U-500 marks are millilitres by their definition; the HL7 v2 codes of
//          routes and sites are those of tables 0162 and 0163 as transcribed in public source files
//          (looked up).
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace meniscus {
namespace {

using Row = std::map<std::string, std::string>;

std::vector<std::string> split(const std::string& line, char by) {
  std::vector<std::string> cells;
  std::string cell;
  std::istringstream in(line);
  while (std::getline(in, cell, by))
    cells.push_back(cell);
  if (!line.empty() && line.back() == by) cells.emplace_back();
  return cells;
}

/// Rows by the plain names of their columns; no cell of ours holds a comma or a quote.
std::vector<Row> table(const std::string& name) {
  std::ifstream in(std::string(MENISCUS_SOURCE_DIR) + "/rules/" + name + ".csv");
  std::string line;
  std::getline(in, line);
  std::vector<std::string> heads = split(line, ',');
  for (std::string& head : heads)
    head = head.substr(0, head.find(' '));
  std::vector<Row> rows;
  while (std::getline(in, line)) {
    const std::vector<std::string> cells = split(line, ',');
    EXPECT_EQ(cells.size(), heads.size()) << name << ": " << line;
    Row row;
    for (std::size_t i = 0; i < std::min(cells.size(), heads.size()); ++i)
      row[heads[i]] = cells[i];
    rows.push_back(std::move(row));
  }
  return rows;
}

std::set<std::string> column(const std::string& name, const std::string& head) {
  std::set<std::string> values;
  for (const Row& row : table(name))
    values.insert(row.at(head));
  return values;
}

double number(const std::string& text) { return std::stod(text); }

constexpr const char* kSourced[] = {"allergens",
                                    "compounded-vehicles",
                                    "first-doses",
                                    "course-limits",
                                    "depot-intervals",
                                    "dose-kinds",
                                    "equal-doses",
                                    "guideline-ranges",
                                    "kits",
                                    "label-sites",
                                    "look-alikes",
                                    "needle-gauges",
                                    "needle-lengths",
                                    "needles",
                                    "name-words",
                                    "notations",
                                    "observation",
                                    "product-routes",
                                    "product-scales",
                                    "products",
                                    "reconstitutions",
                                    "repeat-intervals",
                                    "routes",
                                    "salts",
                                    "scales",
                                    "site-routes",
                                    "site-volumes",
                                    "sites",
                                    "substances",
                                    "syringes",
                                    "unspecific-names",
                                    "vehicle-words",
                                    "vehicles",
                                    "weight-doses"};

TEST(Tables, EveryRowSaysWhereItIsFromAndHowItIsKnown) {
  for (const char* name : kSourced) {
    const std::vector<Row> rows = table(name);
    EXPECT_FALSE(rows.empty()) << name;
    for (const Row& row : rows) {
      EXPECT_FALSE(row.at("source").empty()) << name << ": " << row.begin()->second;
      const std::string& how = row.at("how");
      const bool known = how.find("looked up") != std::string::npos ||
                         how.find("from memory") != std::string::npos ||
                         how.find("common practice") != std::string::npos ||
                         how.find("computed") != std::string::npos || how == "not stated here";
      EXPECT_TRUE(known) << name << ": how `" << how << "`";
    }
  }
}

TEST(Tables, FortyFiveSubstancesByLabelledProduct) {
  const std::set<std::string> codes = column("substances", "code");
  std::set<std::string> products = column("products", "code");
  EXPECT_GE(codes.size(), 45U);
  EXPECT_GE(products.size(), 45U);
}

TEST(Tables, NameOnlyWhatOthersKnow) {
  const std::set<std::string> codes = column("substances", "code");
  for (const char* name :
       {"products", "product-routes", "product-scales", "dose-kinds", "label-sites",
        "depot-intervals", "course-limits", "weight-doses", "observation", "kits", "salts",
        "first-doses", "unspecific-names", "guideline-ranges", "compounded-vehicles",
        "reconstitutions", "equal-doses", "repeat-intervals"}) {
    for (const std::string& code : column(name, "code"))
      EXPECT_TRUE(codes.contains(code)) << name << " names " << code;
  }
  const std::set<std::string> vehicles = column("vehicles", "vehicle");
  for (const std::string& vehicle : column("products", "vehicle"))
    EXPECT_TRUE(vehicle.empty() || vehicles.contains(vehicle)) << vehicle;
  const std::set<std::string> bases = column("vehicles", "base");
  for (const std::string& base : column("vehicle-words", "base"))
    EXPECT_TRUE(bases.contains(base)) << base;
  const std::set<std::string> moieties = column("substances", "moiety");
  for (const std::string& moiety : column("name-words", "moiety"))
    EXPECT_TRUE(moieties.contains(moiety)) << moiety;
  const std::set<std::string> sites = column("sites", "site");
  for (const char* name : {"label-sites", "site-routes", "site-volumes", "needle-lengths"}) {
    for (const std::string& site : column(name, "site"))
      EXPECT_TRUE(site == "any" || sites.contains(site)) << name << " names " << site;
  }
  for (const std::string& parent : column("sites", "parent"))
    EXPECT_TRUE(parent.empty() || sites.contains(parent)) << parent;
}

TEST(Needles, BoresLieWithinTheStandard) {
  std::map<std::string, std::map<std::string, double>> bores;
  for (const Row& row : table("needles")) {
    const double bore = number(row.at("bore"));
    EXPECT_LT(bore, number(row.at("x-outer-least"))) << row.at("gauge");
    EXPECT_LT(number(row.at("x-outer-least")), number(row.at("x-outer-most"))) << row.at("gauge");
    if (!row.at("x-nominal").empty()) {
      EXPECT_LE(bore, number(row.at("x-nominal"))) << row.at("gauge");
    }
    bores[row.at("gauge")][row.at("wall")] = bore;
  }
  EXPECT_EQ(bores.size(), 19U);  // 16 to 34 G
  for (const auto& [gauge, walls] : bores) {
    EXPECT_LT(walls.at("regular"), walls.at("thin")) << gauge;
    if (walls.contains("extra-thin")) {
      EXPECT_LT(walls.at("thin"), walls.at("extra-thin")) << gauge;
    }
    if (walls.contains("ultra-thin")) {
      EXPECT_LT(walls.at("extra-thin"), walls.at("ultra-thin")) << gauge;
    }
  }
}

TEST(Syringes, OfEveryScale) {
  const std::set<std::string> scales = column("syringes", "scale");
  for (const char* scale : {"mL", "U-100", "U-40", "U-500"})
    EXPECT_TRUE(scales.contains(scale)) << scale;
  for (const Row& row : table("syringes")) {
    if (row.at("coarsest").empty()) continue;
    EXPECT_LE(number(row.at("graduation")), number(row.at("coarsest"))) << row.at("capacity");
  }
  for (const Row& row : table("scales")) {
    const double units = number(row.at("scale").substr(2));  // U-100: 100 units in a millilitre
    EXPECT_DOUBLE_EQ(number(row.at("per-mark")) * units, 1) << row.at("scale");
  }
}

TEST(Vehicles, AreThinnerWhenWarm) {
  for (const Row& row : table("vehicles")) {
    if (row.at("viscosity").empty()) continue;
    const double usual = number(row.at("viscosity"));
    if (!row.at("x-at-20").empty()) {
      EXPECT_GE(number(row.at("x-at-20")), usual) << row.at("vehicle");
    }
    if (!row.at("x-warm").empty()) {
      EXPECT_LT(number(row.at("x-warm")), usual) << row.at("vehicle");
    }
    if (!row.at("x-least").empty()) {
      EXPECT_LE(number(row.at("x-least")), usual) << row.at("vehicle");
    }
  }
}

TEST(Hl7Codes, OfRoutesAndSites) {
  std::map<std::string, std::string> routes;
  for (const Row& row : table("routes"))
    if (!row.at("hl7-0162").empty()) routes[row.at("hl7-0162")] = row.at("route");
  EXPECT_EQ(routes["SC"], "subcutaneous");
  EXPECT_EQ(routes["IM"], "intramuscular");
  EXPECT_EQ(routes["ID"], "intradermal");
  EXPECT_EQ(routes["IU"], "intrauterine");  // not international units
  std::map<std::string, std::string> sites;
  for (const Row& row : table("sites")) {
    for (const std::string& code : split(row.at("hl7-0163"), ' ')) {
      EXPECT_FALSE(sites.contains(code)) << code;
      sites[code] = row.at("site");
    }
  }
  EXPECT_EQ(sites["LD"], "deltoid");
  EXPECT_EQ(sites["RVG"], "ventrogluteal");
  EXPECT_EQ(sites["LVL"], "vastus-lateralis");
  EXPECT_EQ(sites["BU"], "gluteal");
  EXPECT_EQ(sites["LLAQ"], "abdomen-lower");
}

}  // namespace
}  // namespace meniscus
