// What is unpacked, what is handed on, and what is said about data that break off or are damaged.
//
// Sources: RFC 1952 (gzip: members one after another), RFC 8878 (Zstandard: frames, skippable
//          frames); packed by zlib, libzstd and the tool gzip.
#include "adapters/input/compressed_bytes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <iterator>

#include "adapters/input/byte_sources.hpp"
#include "adapters/input/open_orders.hpp"
#include "tests/support/orders_text.hpp"
#include "tests/support/packing.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::SizeIs;
using ::testing::StartsWith;
using tests::gzipped;
using tests::skippable;
using tests::zstd_packed;

struct Unpacked {
  std::string text;
  std::string error;
};

/// Reads `packed`, given in pieces of `piece`, by reads of `size`.
Unpacked unpacked(const std::string& packed, std::size_t piece = std::string::npos,
                  std::size_t size = 4096) {
  const auto source = unpacked_bytes(memory_bytes(packed, piece), "x.gz");
  Unpacked all;
  std::string room(size, '\0');
  for (;;) {
    const auto got = source->read(room.data(), room.size());
    if (!got) {
      all.error = got.error().message;
      EXPECT_EQ(source->read(room.data(), room.size()).error().message, all.error) << "said again";
      return all;
    }
    if (*got == 0) return all;
    all.text.append(room, 0, *got);
  }
}

std::string long_text() {
  std::string text;
  for (int i = 0; i < 20000; ++i)
    text += std::to_string(i * 7919 % 10007) + (i % 9 == 0 ? "\n" : " ");
  return text;
}

using Pack = std::function<std::string(std::string_view)>;
struct Packing {
  std::string_view name;
  Pack pack;
  std::string_view said;
};
class CompressedBytes : public ::testing::TestWithParam<Packing> {
 protected:
  [[nodiscard]] static std::string pack(std::string_view text) { return GetParam().pack(text); }
};
INSTANTIATE_TEST_SUITE_P(Of, CompressedBytes,
                         ::testing::Values(Packing{"Gzip", gzipped, "gzip"},
                                           Packing{"Zstandard", zstd_packed, "Zstandard"}),
                         [](const auto& info) { return std::string(info.param.name); });

TEST_P(CompressedBytes, AreUnpackedWhateverThePieces) {
  const std::string text = long_text();
  const std::string packed = pack(text);
  ASSERT_LT(packed.size(), text.size());
  for (const std::size_t piece : {std::size_t{1}, std::size_t{7}, std::string::npos}) {
    for (const std::size_t size : {std::size_t{1}, std::size_t{100}, std::size_t{1} << 20U}) {
      const Unpacked got = unpacked(packed, piece, size);
      EXPECT_TRUE(got.text == text) << piece << " " << size;
      EXPECT_EQ(got.error, "");
    }
  }
}

TEST_P(CompressedBytes, MembersFollowOneAnother) {
  const std::string packed = pack("one\n") + pack("") + pack("two\n");
  for (const std::size_t piece : {std::size_t{1}, std::string::npos}) {
    for (const std::size_t size : {std::size_t{1}, std::size_t{4}, std::size_t{4096}}) {
      const Unpacked got = unpacked(packed, piece, size);
      EXPECT_EQ(got.text, "one\ntwo\n");
      EXPECT_EQ(got.error, "");
    }
  }
  EXPECT_EQ(unpacked(pack("")).text, "");
  EXPECT_EQ(unpacked(pack("")).error, "");
}

TEST_P(CompressedBytes, CutAnywhereTheySayHowFarTheyGo) {
  const std::string text = "a short text, a short text, a short text\n";
  const std::string packed = pack(text);
  for (std::size_t cut = 4; cut < packed.size(); ++cut) {
    for (const std::size_t piece : {std::size_t{1}, std::string::npos}) {
      const Unpacked got = unpacked(packed.substr(0, cut), piece, 5);
      EXPECT_THAT(text, StartsWith(got.text));
      EXPECT_EQ(got.error, "cannot read x.gz: its " + std::string(GetParam().said) +
                               " data end early, after " + std::to_string(cut) + " bytes");
    }
  }
}

TEST_P(CompressedBytes, WhatCameBeforeDamageIsGiven) {
  const std::string first = pack("one\n");
  std::string second = pack(long_text());
  second[second.size() - 1] = static_cast<char>(second.back() ^ 0x55);  // length or checksum
  const Unpacked got = unpacked(first + second);
  EXPECT_THAT(got.text, StartsWith("one\n"));
  EXPECT_THAT(got.error, StartsWith("cannot read x.gz: its " + std::string(GetParam().said) +
                                    " data are damaged, after "));
}

TEST_P(CompressedBytes, NothingElseMayFollow) {
  const std::string packed = pack("one\n");
  const std::string zeros(4, '\0');
  for (const std::string& behind : {std::string("{}"), zeros, std::string("garbage")}) {
    for (const std::size_t piece : {std::size_t{1}, std::string::npos}) {
      const Unpacked got = unpacked(packed + behind, piece);
      EXPECT_EQ(got.text, "one\n");
      EXPECT_THAT(got.error, StartsWith("cannot read x.gz: its " + std::string(GetParam().said) +
                                        " data are followed by something else, after "));
    }
  }
}

/// Memory that the process has ever had, in KiB.
long most_memory() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

TEST_P(CompressedBytes, ABombIsReadInBoundedMemory) {
  constexpr std::size_t kMember = std::size_t{16} << 20U;
  constexpr std::size_t kMembers = 24;
  const std::string member = pack(std::string(kMember, '\n'));
  std::string packed;
  for (std::size_t i = 0; i < kMembers; ++i)
    packed += member;
  EXPECT_LT(packed.size(), std::size_t{1} << 20U);
  const auto source = unpacked_bytes(memory_bytes(std::move(packed)), "-");
  std::string room(std::size_t{256} << 10U, '\0');
  const long before = most_memory();
  std::size_t total = 0;
  for (auto got = source->read(room.data(), room.size()); got && *got > 0;
       got = source->read(room.data(), room.size()))
    total += *got;
  EXPECT_EQ(total, kMember * kMembers);  // 384 MiB
  EXPECT_LT(most_memory() - before, 32 * 1024);
}

TEST_P(CompressedBytes, TheOrdersBeforeTheDamageAreRead) {
  std::string lines;
  for (int i = 0; i < 40000; ++i)
    lines += R"({"order":{"id":"A-)" + std::to_string(i) + "\"}}\n";
  const engine::Feed feed;
  const std::string packed = pack(lines);
  const std::string path = ::testing::TempDir() + "cut_orders";
  std::ofstream(path, std::ios::binary) << packed.substr(0, packed.size() - 20);
  auto opened = open_orders(path, adapters::Format::Auto, 0, {nullptr, &feed});
  std::remove(path.c_str());
  ASSERT_TRUE(opened) << opened.error().message;
  EXPECT_EQ(opened->format, adapters::Format::Json);
  const auto orders = tests::read_all(*opened->source);
  ASSERT_GT(orders.size(), 1U);
  EXPECT_EQ(orders.front().kind, engine::RecordKind::Order);
  const auto said = [](const tests::ReadOrder& order) {
    return order.kind == engine::RecordKind::Unreadable &&
           order.reason.find("data end early, after") != std::string::npos;
  };
  EXPECT_EQ(std::count_if(orders.begin(), orders.end(), said), 1);
}

TEST(PlainBytes, AreHandedOn) {
  for (const std::string text : {"", "{", "(", "P", "P*M", "\x1F", "\x1F text", "order.id,dose\n",
                                 "\x28\xB5 no", "MSH|^~\\&|", "_*M"}) {
    for (const std::size_t piece : {std::size_t{1}, std::string::npos}) {
      const Unpacked got = unpacked(text, piece, 2);
      EXPECT_EQ(got.text, text);
      EXPECT_EQ(got.error, "");
    }
  }
}

/// Gives one piece at a time and notes how often it was asked.
class Asked : public engine::ByteSource {
 public:
  explicit Asked(int& times) : times_(&times) {}
  engine::Result<std::size_t> read(char* into, std::size_t size) override {
    ++*times_;
    into[0] = size > 0 ? '{' : '\0';
    return std::size_t{1};
  }

 private:
  int* times_;
};

TEST(PlainBytes, AreNotWaitedForOnceTheyCanBeNothingElse) {
  int times = 0;
  const auto source = unpacked_bytes(std::make_unique<Asked>(times), "-");
  char room[8] = {};
  ASSERT_EQ(source->read(room, sizeof room).value_or(0), 1U);
  EXPECT_EQ(times, 1);
}

TEST(Zstandard, SkippableFramesAreSkipped) {
  const std::string packed =
      skippable("seek table") + zstd_packed("one\n") + skippable("") + zstd_packed("two\n");
  for (const std::size_t piece : {std::size_t{1}, std::string::npos}) {
    EXPECT_EQ(unpacked(packed, piece).text, "one\ntwo\n");
    EXPECT_EQ(unpacked(packed, piece).error, "");
  }
  EXPECT_THAT(unpacked(packed.substr(0, 12)).error, HasSubstr("end early, after 12 bytes"));
}

TEST(Zstandard, AWindowOfMoreThan128MiBIsRefused) {
  // A frame head by hand, RFC 8878, 3.1.1: no checksum, window descriptor 0x90 is 2^28 bytes; then
  // the last block, raw and empty.
  const std::string frame = "\x28\xB5\x2F\xFD" + std::string("\0\x90\x01\0\0", 5);
  EXPECT_THAT(unpacked(frame).error, HasSubstr("data need more than 128 MiB of memory, after"));
}

TEST(Gzip, AFileOfTheToolIsRead) {
  const std::string path = ::testing::TempDir() + "tool_orders.csv";
  std::ofstream(path) << "order.id\nA-1\n";
  const std::string packed = path + ".gz";
  ASSERT_EQ(std::system(("gzip -f " + path).c_str()), 0);  // its head holds the file's name
  const engine::Feed feed;
  auto opened = open_orders(packed, adapters::Format::Auto, 0, {nullptr, &feed});
  std::remove(packed.c_str());
  ASSERT_TRUE(opened) << opened.error().message;
  EXPECT_EQ(opened->format, adapters::Format::Csv);
  const auto orders = tests::read_all(*opened->source);
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_THAT(orders[0].values, ElementsAre(HasSubstr("A-1")));
}

/// Its bytes, then a failure.
std::unique_ptr<engine::ByteSource> broken_off(std::string_view text) {
  const std::string packed = gzipped(text);
  return unpacked_bytes(memory_bytes(packed.substr(0, packed.size() - 8)), "x.gz");
}

struct BrokenOff {
  std::string_view name;
  adapters::Format format;
  std::string_view text;
  std::size_t whole;
};
class InputThatBreaksOff : public ::testing::TestWithParam<BrokenOff> {};
TEST_P(InputThatBreaksOff, JudgesNoRecordInHalf) {
  const engine::Feed feed;
  for (const adapters::Format format : {GetParam().format, adapters::Format::Auto}) {
    auto opened = open_orders({"x.gz", broken_off(GetParam().text), 0}, format, {nullptr, &feed});
    ASSERT_TRUE(opened) << opened.error().message;
    EXPECT_EQ(opened->format, GetParam().format);
    std::size_t whole = 0;
    std::size_t said = 0;
    for (const tests::ReadOrder& order : tests::read_all(*opened->source)) {
      if (order.kind == engine::RecordKind::Order) ++whole;
      if (order.reason.find("data end early") != std::string::npos) ++said;
    }
    EXPECT_EQ(whole, GetParam().whole);
    EXPECT_EQ(said, 1U);
  }
}
INSTANTIATE_TEST_SUITE_P(
    Of, InputThatBreaksOff,
    ::testing::Values(
        BrokenOff{"Json", adapters::Format::Json, "{\"order.id\":\"A-1\"}\n{\"order.id\":\"A-", 1},
        BrokenOff{"Csv", adapters::Format::Csv, "order.id,dose\nA-1,5 mg\nA-2,5", 1},
        BrokenOff{"CsvWholeLines", adapters::Format::Csv, "order.id,dose\nA-1,5 mg\n", 1},
        BrokenOff{"Hl7", adapters::Format::Hl7,
                  "MSH|^~\\&|A|B|C|D|20260302||RDE^O11|1|P|2.5.1\rPID|1||SM-0001\rORC|NW|A-1\r"
                  "RXE|^^^20260302|testosterone-cypionate|50||mg\r"
                  "MSH|^~\\&|A|B|C|D|20260302||RDE^O11|2|P|2.5.1\rPID|1||SM-0001\rORC|NW|A-2\r"
                  "RXE|^^^20260302|testosterone-cypionate|5",
                  1}),
    [](const auto& info) { return std::string(info.param.name); });

}  // namespace
}  // namespace meniscus::adapters
