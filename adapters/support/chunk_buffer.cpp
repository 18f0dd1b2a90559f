// Moving, growing and filling the window (contract: chunk_buffer.hpp).
#include "adapters/support/chunk_buffer.hpp"

#include <algorithm>
#include <cstring>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters {

ChunkBuffer::ChunkBuffer(std::unique_ptr<engine::ByteSource> source, std::size_t chunk)
    : source_(std::move(source)),
      data_(new char[chunk + kPadding]),  // NOLINT(*-owning-memory): owned at once
      capacity_(chunk) {
  std::memset(data_.get(), 0, kPadding);
}

void ChunkBuffer::drop_consumed() {
  if (begin_ == 0) return;
  // By hand, because gcc 12 takes a string_view here for a dangling pointer (false alarm).
  const char* const gone = data_.get();
  std::size_t line = begin_;
  while (line > 0 && gone[line - 1] != '\n')
    --line;
  std::uint64_t characters = engine::count_characters({gone + line, begin_ - line});
  // The mark in front of an input is no character of its first line.
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  const bool marked = dropped_ == 0 && line == 0 && begin_ >= kByteOrderMark.size() &&
                      std::memcmp(gone, kByteOrderMark.data(), kByteOrderMark.size()) == 0;
  if (marked) --characters;
  characters_before_ = line == 0 ? characters_before_ + characters : characters;
  std::memmove(data_.get(), data_.get() + begin_, end_ - begin_);
  dropped_ += begin_;
  end_ -= begin_;
  begin_ = 0;
}

void ChunkBuffer::grow() {
  const std::size_t larger = capacity_ * 2;
  std::unique_ptr<char[]> next(new char[larger + kPadding]);  // NOLINT
  std::memcpy(next.get(), data_.get(), end_);
  data_ = std::move(next);
  capacity_ = larger;
}

bool ChunkBuffer::more() {
  if (ended_) return false;
  drop_consumed();
  if (end_ == capacity_) grow();
  const engine::Result<std::size_t> got = source_->read(data_.get() + end_, capacity_ - end_);
  if (!got || *got == 0) {
    ended_ = true;
    if (!got) error_ = got.error();
  } else {
    end_ += std::min(*got, capacity_ - end_);
  }
  // Also at the end: what was moved must not leave its tail behind the last record.
  std::memset(data_.get() + end_, 0, kPadding);
  return !ended_;
}

}  // namespace meniscus::adapters
