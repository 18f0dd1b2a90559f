// Which files a folder stands for.
#include "adapters/input/input_files.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;

class InputFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    root_ = fs::path(::testing::TempDir()) /
            (std::string("input_files_") +
             ::testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::remove_all(root_);
    fs::create_directories(root_);
  }
  void TearDown() override { fs::remove_all(root_); }

  void file(const std::string& name) const {
    fs::create_directories((root_ / name).parent_path());
    std::ofstream(root_ / name) << "x";
  }
  [[nodiscard]] std::string at(const std::string& name) const { return (root_ / name).native(); }
  [[nodiscard]] std::string root() const { return root_.native(); }

 private:
  fs::path root_;
};

TEST_F(InputFiles, NamesThatAreNoFoldersStayAsTheyAre) {
  file("b");
  const auto files = input_files({"-", at("b"), at("not there"), at("b")});
  ASSERT_TRUE(files);
  EXPECT_THAT(*files, ElementsAre("-", at("b"), at("not there"), at("b")));
}

TEST_F(InputFiles, AFolderIsItsFilesSortedByBytes) {
  for (const char* name : {"b.csv", "a/2.hl7", "a/10.hl7", "a.json", "B.csv", "\xC3\xA4.csv",
                           ".hidden", ".git/config", "a/.b/c"})
    file(name);
  file("z/y/x/deep");
  const auto files = input_files({root()});
  ASSERT_TRUE(files);
  // '.' is before '/', capitals are before small letters, and both before other alphabets.
  EXPECT_THAT(*files, ElementsAre(at("B.csv"), at("a.json"), at("a/10.hl7"), at("a/2.hl7"),
                                  at("b.csv"), at("z/y/x/deep"), at("\xC3\xA4.csv")));
}

TEST_F(InputFiles, TheOrderOfTheNamesStays) {
  file("one/a");
  file("two/a");
  const auto files = input_files({at("two"), at("one")});
  ASSERT_TRUE(files);
  EXPECT_THAT(*files, ElementsAre(at("two/a"), at("one/a")));
}

TEST_F(InputFiles, LinksToFoldersAreNotFollowedUnlessNamed) {
  file("real/a");
  fs::create_directory_symlink(root() + "/real", at("real/round"));
  fs::create_symlink(at("real/a"), at("real/link"));
  fs::create_symlink(at("nowhere"), at("real/lost"));
  const auto files = input_files({at("real")});
  ASSERT_TRUE(files);
  // A link to nothing stays, so that somebody hears of it.
  EXPECT_THAT(*files, ElementsAre(at("real/a"), at("real/link"), at("real/lost")));
  const auto named = input_files({at("real/round")});
  ASSERT_TRUE(named);
  EXPECT_THAT(*named,
              ElementsAre(at("real/round/a"), at("real/round/link"), at("real/round/lost")));
}

TEST_F(InputFiles, AFolderWithoutFilesIsAnError) {
  fs::create_directories(at("empty/within"));
  file("empty/.hidden");
  const auto files = input_files({at("empty")});
  ASSERT_FALSE(files);
  EXPECT_EQ(files.error().message, "cannot read " + at("empty") + ": it is a folder without files");
}

TEST_F(InputFiles, WhatCannotBeLookedAtStaysSoThatOpeningItSaysWhy) {
  // Paths end at 4096 bytes (PATH_MAX of Linux), for root as well; folders are made step by step.
  const std::string name(200, 'a');
  const fs::path here = fs::current_path();
  fs::current_path(root());
  for (int i = 0; i < 22; ++i) {
    fs::create_directory(name);
    fs::current_path(name);
  }
  fs::current_path(here);
  const auto files = input_files({root()});
  ASSERT_TRUE(files);
  ASSERT_THAT(*files, ::testing::SizeIs(1));
  EXPECT_THAT(files->front(), ::testing::EndsWith("/" + name));
}

}  // namespace
}  // namespace meniscus::adapters
