// Every spelling of a medicine in substances.csv is known as its name and as an allergy to it.
//
// The spellings are those that an order's code is found by; what the two rules say of them is
// checked against that table, so that a medicine which is added there is not forgotten elsewhere.
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "tests/rules/judging.hpp"

namespace meniscus {
namespace {

using rules_tests::judge_last;
using rules_tests::Said;

struct Medicine {
  std::string code, moiety;
  std::vector<std::string> spellings;  // with the code
};

std::vector<Medicine> medicines() {
  std::ifstream in(std::string(MENISCUS_SOURCE_DIR) + "/rules/substances.csv");
  std::string line;
  std::getline(in, line);
  std::vector<Medicine> all;
  while (std::getline(in, line)) {
    std::istringstream cells(line);
    std::string synonyms;
    Medicine medicine;
    std::getline(cells, medicine.code, ',');
    std::getline(cells, synonyms, ',');
    std::getline(cells, medicine.moiety, ',');
    medicine.spellings.push_back(medicine.code);
    std::istringstream words(synonyms);
    std::string word;
    while (std::getline(words, word, ';'))
      medicine.spellings.push_back(word.substr(std::min(word.find_first_not_of(' '), word.size())));
    all.push_back(std::move(medicine));
  }
  return all;
}

bool speaks(const Said& said, const std::string& rule) {
  return std::any_of(said.findings.begin(), said.findings.end(),
                     [&](const auto& finding) { return finding.first == rule; });
}

Said judge(const std::string& code, const std::string& member) {
  return judge_last(R"({"order":{"id":"A-1"},"substance":{"code":")" + code + "\"" + member + "}\n",
                    engine::Mode::Columns);
}

TEST(Names, EverySpellingOfAMedicineIsItsName) {
  const std::vector<Medicine> all = medicines();
  ASSERT_GE(all.size(), 45U);
  for (const Medicine& medicine : all) {
    for (std::size_t i = 1; i < medicine.spellings.size(); ++i) {
      std::string name = medicine.spellings[i] + " 10 mg/mL injection";
      const Said said = judge(medicine.code, R"(,"name":")" + name + "\"}");
      EXPECT_FALSE(speaks(said, "name-against-code")) << medicine.code << ": " << said.text;
      std::transform(name.begin(), name.end(), name.begin(),
                     [](unsigned char c) { return c < 128 ? std::toupper(c) : c; });
      EXPECT_FALSE(speaks(judge(medicine.code, R"(,"name":")" + name + "\"}"), "name-against-code"))
          << name;
    }
  }
}

TEST(Names, EverySpellingOfAMedicineIsAnAllergyToIt) {
  for (const Medicine& medicine : medicines()) {
    if (medicine.moiety == "diluent") continue;  // water and saline
    for (const std::string& spelling : medicine.spellings) {
      const Said said = judge(medicine.code, R"(},"patient":{"allergies":[")" + spelling + "\"]}");
      EXPECT_TRUE(said.has("allergy", "hold")) << medicine.code << ", " << spelling << said.text;
    }
  }
}

}  // namespace
}  // namespace meniscus
