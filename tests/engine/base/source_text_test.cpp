// Lines and columns of a text.
#include "engine/base/source_text.hpp"

#include <gtest/gtest.h>

namespace meniscus::engine {
namespace {

TEST(SourceTextPlaces, CountsLinesAndCharactersFromOne) {
  const SourceText text("t", "ab\nc\xC3\xA9 d\r\n\nlast");
  EXPECT_EQ(text.line_count(), 4U);
  EXPECT_EQ(text.line(1), "ab");
  EXPECT_EQ(text.line(2), "c\xC3\xA9 d");  // without \r\n
  EXPECT_EQ(text.line(3), "");
  EXPECT_EQ(text.line(4), "last");
  const auto at = [&text](std::uint32_t offset) {
    const LineColumn place = text.locate(offset);
    return std::to_string(place.line) + ":" + std::to_string(place.column);
  };
  EXPECT_EQ(at(0), "1:1");
  EXPECT_EQ(at(2), "1:3");  // the line end belongs to its line
  EXPECT_EQ(at(3), "2:1");
  EXPECT_EQ(at(7), "2:4");  // two bytes of `é` are one column
  EXPECT_EQ(at(10), "3:1");
  EXPECT_EQ(at(15), "4:5");
  EXPECT_EQ(at(99), "4:5");  // past the end: the end
}

TEST(SourceTextPlaces, SlicesAreCutToTheText) {
  const SourceText text("t", "abc");
  EXPECT_EQ(text.slice({1, 2}), "b");
  EXPECT_EQ(text.slice({2, 90}), "c");
  EXPECT_EQ(text.slice({90, 99}), "");
  EXPECT_EQ(text.slice({2, 1}), "");
}

TEST(SourceTextPlaces, AnEmptyTextHasOneLine) {
  const SourceText text("t", "");
  EXPECT_EQ(text.line_count(), 1U);
  EXPECT_EQ(text.line(1), "");
  EXPECT_EQ(text.locate(0).column, 1U);
}

}  // namespace
}  // namespace meniscus::engine
