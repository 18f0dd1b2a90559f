// Large memory pages for the program's heap.
//
// Why:     a page fault costs more than judging an order; where the heap is made of 2 MB pages
// instead
//          of 4 kB pages there are hardly any.  Measured with 50,000 orders: a fifth of the CPU
//          time.
// Does:    with glibc on Linux, lets the heap grow in large steps and asks for large pages
//          (mallopt(3), madvise(2) MADV_HUGEPAGE).  Elsewhere, or where the system has none to
//          give, nothing changes.
// Use:     one for the process, made before much memory is taken; keep_up() now and then.
#pragma once

#include <memory>

namespace meniscus::adapters {

class HeapPages {
 public:
  HeapPages();

  /// Asks for large pages for what the heap has grown by.  Cheap when it has not.
  void keep_up();

 private:
  char* end_ = nullptr;            // of the heap when we last looked
  std::unique_ptr<char[]> first_;  // makes the heap take its first step
};

}  // namespace meniscus::adapters
