// Messages that could not be read: kept whole, for their owner alone, once.
#include "adapters/quarantine/quarantine.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

std::string bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

class Held : public ::testing::Test {
 public:
  [[nodiscard]] std::unique_ptr<Quarantine> open() const {
    auto opened = Quarantine::open(path);
    EXPECT_TRUE(opened) << opened.error().message;
    return opened ? std::move(*opened) : nullptr;
  }

  testing::TestFolder folder;
  std::string path = folder / "quarantine";
  const std::string message = std::string("\x0BMSH|^~\\&|\0odd\xff\x1C\r", 17);
};

TEST_F(Held, KeepsTheBytesAndTheReason) {
  {
    const auto quarantine = open();
    ASSERT_TRUE(quarantine->put("b2", message, {"no header", "MSH-12", 3, 2000}));
    ASSERT_TRUE(quarantine->put("a1", "other", {"cut short", "", 0, 3000}));
    EXPECT_EQ(quarantine->size(), 2U);
  }
  const auto quarantine = open();
  EXPECT_EQ(quarantine->size(), 2U);
  const auto held = quarantine->list();
  ASSERT_TRUE(held);
  ASSERT_EQ(held->size(), 2U);
  EXPECT_EQ((*held)[0].name, "b2") << "it was received first";
  EXPECT_EQ((*held)[0].why.reason, "no header");
  EXPECT_EQ((*held)[0].why.at, "MSH-12");
  EXPECT_EQ((*held)[0].why.line, 3U);
  EXPECT_EQ((*held)[0].bytes, message.size());
  EXPECT_EQ(bytes_of(quarantine->path("b2")), message);
}

TEST_F(Held, CountsWhatTheFolderHolds) {
  const auto quarantine = open();
  ASSERT_TRUE(quarantine->put("a1", message, {"no header", "", 1, 1000}));
  ASSERT_TRUE(quarantine->put("b2", message, {"no header", "", 1, 1000}));
  const auto other = open();
  ASSERT_TRUE(other->discard("a1"));
  EXPECT_EQ(quarantine->size(), 1U) << "another program took one out";
  ASSERT_TRUE(other->discard("b2"));
  ASSERT_TRUE(quarantine->put("c3", message, {"no header", "", 1, 1000}));
  EXPECT_EQ(quarantine->size(), 1U);
}

TEST_F(Held, IsForItsOwnerAlone) {
  ASSERT_TRUE(open()->put("a1", message, {"no header", "", 1, 1000}));
  const fs::perms others = fs::perms::group_all | fs::perms::others_all;
  EXPECT_EQ(fs::status(path).permissions() & others, fs::perms::none);
  std::size_t files = 0;
  for (const auto& entry : fs::directory_iterator(path)) {
    ++files;
    EXPECT_EQ(fs::status(entry).permissions() & others, fs::perms::none) << entry.path();
    EXPECT_EQ(fs::status(entry).permissions() & fs::perms::owner_exec, fs::perms::none);
  }
  EXPECT_EQ(files, 2U);
}

TEST_F(Held, KeepsTheSameMessageOnce) {
  const auto quarantine = open();
  ASSERT_TRUE(quarantine->put("a1", message, {"first", "", 1, 1000}));
  ASSERT_TRUE(quarantine->put("a1", message, {"again", "", 1, 2000}));
  EXPECT_EQ(quarantine->size(), 1U);
  EXPECT_EQ(quarantine->list()->at(0).why.reason, "first");
}

TEST_F(Held, LetsGoOfWhatIsDiscarded) {
  const auto quarantine = open();
  ASSERT_TRUE(quarantine->put("a1", message, {"no header", "", 1, 1000}));
  EXPECT_TRUE(quarantine->has("a1"));
  ASSERT_TRUE(quarantine->discard("a1"));
  EXPECT_FALSE(quarantine->has("a1"));
  EXPECT_TRUE(fs::is_empty(path));
  EXPECT_FALSE(quarantine->discard("a1"));
}

TEST_F(Held, PassesOverWhatIsNotItsOwn) {
  ASSERT_TRUE(open()->put("a1", message, {"no header", "", 1, 1000}));
  folder.write("quarantine/notes.txt", "not ours");
  folder.write("quarantine/half.json", "{\"reason\":");
  folder.write("quarantine/alone.json", "{\"reason\":\"its bytes are gone\"}");
  EXPECT_EQ(open()->list()->size(), 1U);
}

TEST_F(Held, SaysWhyAFolderCannotBeUsed) {
  const auto nowhere = Quarantine::open(folder / "no/such/folder");
  ASSERT_FALSE(nowhere);
  EXPECT_THAT(nowhere.error().message, HasSubstr("no/such/folder: cannot be made"));
  const auto file = Quarantine::open(folder.write("file", "text"));
  ASSERT_FALSE(file);
  EXPECT_THAT(file.error().message, HasSubstr("cannot be read"));
}

}  // namespace
}  // namespace meniscus::adapters
