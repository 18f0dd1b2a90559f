// Words by the hash of their normal form, and vocabularies.
//
// Checked against: the rule in engine/order/value.hpp, applied here to plain strings.
#include <gtest/gtest.h>

#include <set>
#include <string>

#include "engine/order/vocabulary.hpp"

namespace meniscus::engine {
namespace {

TEST(WordHash, CaseBlanksUnderscoresAndHyphensDoNotMatter) {
  const Word word = word_hash("left-upper-arm");
  for (const std::string_view same : {"Left Upper Arm", "LEFT_UPPER_ARM", " left upper  arm ",
                                      "left -upper_arm", "left\tupper\narm", "-left-upper-arm-"})
    EXPECT_EQ(word_hash(same), word) << same;
  for (const std::string_view other :
       {"leftupperarm", "left-upper", "left-upper-arms", "left.upper.arm"})
    EXPECT_NE(word_hash(other), word) << other;
}

TEST(WordHash, IsTheSameForEver) {
  // History stores hashes; a change here needs a migration of every store.
  EXPECT_EQ(word_hash("subcutaneous"), word_hash(std::string("Subcutaneous")));
  EXPECT_EQ(word_hash("subcutaneous"), Word{0x0189E96500EEAD83});
}

TEST(WordHash, IsNeverNoWordAndRarelyCollides) {
  std::set<Word> seen;
  EXPECT_NE(word_hash(""), kNoWord);
  for (int i = 0; i < 200000; ++i) {
    const Word word = word_hash("code-" + std::to_string(i));
    EXPECT_NE(word, kNoWord);
    ASSERT_TRUE(seen.insert(word).second) << i;
  }
  for (std::size_t length = 1; length < 100; ++length)
    ASSERT_TRUE(seen.insert(word_hash(std::string(length, 'a'))).second) << length;
}

TEST(Vocabulary, FindsSynonymsInAnyWriting) {
  Vocabulary words;
  EXPECT_TRUE(words.empty());
  words.add("subcutaneous", "subcutaneous");
  words.add("under the skin", "subcutaneous");
  words.add("SC", "subcutaneous");
  words.add("intramuscular", "intramuscular");
  EXPECT_EQ(words.size(), 4U);
  for (const std::string_view text : {"Subcutaneous", "under the SKIN", "Under_The_Skin", "sc"}) {
    const Vocabulary::Entry* entry = words.find(text);
    ASSERT_NE(entry, nullptr) << text;
    EXPECT_EQ(entry->name, "subcutaneous");
    EXPECT_EQ(entry->word, word_hash("subcutaneous"));
  }
  EXPECT_EQ(words.find("oral"), nullptr);
  EXPECT_EQ(words.find(""), nullptr);
}

TEST(Vocabulary, TheFirstRowKeepsASpelling) {
  Vocabulary words;
  words.add("arm", "upper-arm");
  words.add("arm", "forearm");
  EXPECT_EQ(words.find("arm")->name, "upper-arm");
}

}  // namespace
}  // namespace meniscus::engine
