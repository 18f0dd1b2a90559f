// The records of one patient by event time, oldest first, one beside the other.
//
// Why:     a million records are not a million places in memory, nor a million addresses, and the
//          newest of a patient come from memory together.
// Room:    most patients of a run come once or twice, so it begins with one record and grows by a
//          quarter.  What is dropped at the front is room again when the list would grow.
// Lives:   addresses of records are good until the list changes.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <memory>
#include <utility>

#include "engine/history/record.hpp"

namespace meniscus::engine {

class PatientRecords {
 public:
  using const_iterator = const HistoryRecord*;

  PatientRecords() = default;
  ~PatientRecords() = default;
  PatientRecords(const PatientRecords&) = delete;
  PatientRecords& operator=(const PatientRecords&) = delete;
  PatientRecords(PatientRecords&& other) noexcept { *this = std::move(other); }
  PatientRecords& operator=(PatientRecords&& other) noexcept {
    room_ = std::move(other.room_);
    capacity_ = std::exchange(other.capacity_, 0);
    first_ = std::exchange(other.first_, 0);
    size_ = std::exchange(other.size_, 0);
    return *this;
  }

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] bool empty() const { return size_ == 0; }
  [[nodiscard]] const HistoryRecord& operator[](std::size_t at) const { return begin()[at]; }
  [[nodiscard]] const HistoryRecord& back() const { return begin()[size_ - 1]; }
  [[nodiscard]] const HistoryRecord* begin() const { return room_.get() + first_; }
  [[nodiscard]] const HistoryRecord* end() const { return begin() + size_; }
  [[nodiscard]] HistoryRecord* begin() { return room_.get() + first_; }
  [[nodiscard]] HistoryRecord* end() { return begin() + size_; }
  [[nodiscard]] auto rbegin() const { return std::make_reverse_iterator(end()); }
  [[nodiscard]] auto rend() const { return std::make_reverse_iterator(begin()); }

  /// Behind all that are not later: nearly always at the end.
  void insert(const HistoryRecord& record) {
    if (first_ + size_ == capacity_) make_room();
    HistoryRecord* at = end();
    for (; at != begin() && at[-1].when > record.when; --at)
      *at = at[-1];
    *at = record;
    ++size_;
  }
  void erase(const HistoryRecord* record) {
    HistoryRecord* const at = begin() + (record - begin());
    std::copy(at + 1, end(), at);
    --size_;
  }
  void drop_oldest(std::size_t count) {
    first_ += static_cast<std::uint32_t>(count);
    size_ -= static_cast<std::uint32_t>(count);
  }

 private:
  /// By moving down where a fifth of the room is free at the front, so that a record is moved four
  /// times on average at the most; else by growing.
  void make_room() {
    if (first_ > 0 && first_ * 5 >= capacity_) {
      std::copy(begin(), end(), room_.get());
    } else {
      capacity_ += capacity_ < 4 ? std::max(capacity_, 1U) : std::max(capacity_ / 4, 2U);
      auto room = std::make_unique_for_overwrite<HistoryRecord[]>(capacity_);
      std::copy(begin(), end(), room.get());
      room_ = std::move(room);
    }
    first_ = 0;
  }

  std::unique_ptr<HistoryRecord[]> room_;
  std::uint32_t capacity_ = 0;
  std::uint32_t first_ = 0;
  std::uint32_t size_ = 0;
};

}  // namespace meniscus::engine
