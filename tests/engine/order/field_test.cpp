// The table of fields.
//
// Checked against: engine/order/fields.def itself, row by row, and the field list of
// docs/fields.md.
#include "engine/order/field.hpp"

#include <gtest/gtest.h>

#include <set>
#include <string>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

TEST(Fields, EveryRowIsFoundByItsName) {
  ASSERT_EQ(fields().size(), kFieldCount);
  std::set<std::string_view> names;
  for (std::size_t i = 0; i < kFieldCount; ++i) {
    const FieldInfo& field = fields()[i];
    EXPECT_EQ(index(field.id), i);
    EXPECT_EQ(&info(field.id), &field);
    EXPECT_EQ(field_named(field.name), field.id) << field.name;
    EXPECT_TRUE(names.insert(field.name).second) << field.name << " is there twice";
    EXPECT_FALSE(field.meaning.empty()) << field.name;
  }
}

TEST(Fields, UnknownNames) {
  for (const std::string_view name : {"", "Dose", "dose ", "needle", "needle.gaug", "doses", "x"})
    EXPECT_FALSE(field_named(name)) << name;
}

TEST(Fields, QuantitiesHaveTheDimensionTheTableNames) {
#define FIELD(id, name_, kind_, detail_, meaning_)                                             \
  if (FieldKind::kind_ == FieldKind::Quantity) {                                               \
    const std::string described = describe(info(FieldId::id).dimension);                       \
    EXPECT_TRUE(described == (detail_) || described == std::string(detail_) + "s") << (name_); \
  } else {                                                                                     \
    EXPECT_TRUE(info(FieldId::id).dimension.is_number()) << (name_);                           \
  }
#include "engine/order/fields.def"
#undef FIELD
}

TEST(Fields, OnlyWordsHaveAVocabulary) {
  EXPECT_EQ(info(FieldId::Site).vocabulary, "sites");
  EXPECT_EQ(info(FieldId::Side).vocabulary, "words");
  EXPECT_EQ(info(FieldId::SubstanceCode).vocabulary, "substances");
  EXPECT_EQ(info(FieldId::PatientWeight).vocabulary, "");
  EXPECT_EQ(info(FieldId::PatientAllergies).vocabulary, "allergens");
}

TEST(ItemFields, NamesBothWays) {
  for (std::size_t i = 0; i < kItemFieldCount; ++i) {
    const auto part = static_cast<ItemField>(i);
    EXPECT_EQ(item_field_named(name(part)), part);
  }
  EXPECT_FALSE(item_field_named("gauge"));
  EXPECT_FALSE(item_field_named(""));
}

}  // namespace
}  // namespace meniscus::engine
