// Contract: heap_pages.hpp.
#include "adapters/support/heap_pages.hpp"

#if defined(__linux__) && defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define MENISCUS_LARGE_PAGES 1
#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#endif

namespace meniscus::adapters {

#ifdef MENISCUS_LARGE_PAGES
namespace {

constexpr std::uintptr_t kLargePage = std::uintptr_t{2} << 20U;
constexpr int kStep =
    64 << 20;  // the heap grows by this much address space; only touched pages count

char* heap_end() { return static_cast<char*>(sbrk(0)); }

/// Large pages cover what they are whole in; the rest stays as it is.
void advise(char* begin, char* end) {
  const std::uintptr_t lead =
      (kLargePage - reinterpret_cast<std::uintptr_t>(begin) % kLargePage) % kLargePage;
  if (end - begin < static_cast<std::ptrdiff_t>(lead + kLargePage)) return;
  // No large pages to be had is no error: the heap is as it was.
  (void)madvise(begin + lead, static_cast<std::size_t>(end - begin) - lead, MADV_HUGEPAGE);
}

}  // namespace

HeapPages::HeapPages() : end_(heap_end()) {
  mallopt(M_TOP_PAD, kStep);
  mallopt(M_TRIM_THRESHOLD, 4 * kStep);
  mallopt(M_MMAP_THRESHOLD, kStep / 2);  // the most that glibc allows: blocks of buffers too
  first_ = std::make_unique_for_overwrite<char[]>(std::size_t{1} << 18U);  // never touched
  keep_up();
}

void HeapPages::keep_up() {
  char* const now = heap_end();
  if (now == end_) return;
  if (now > end_) advise(end_, now);
  end_ = now;
}
#else
HeapPages::HeapPages() = default;
void HeapPages::keep_up() {}
#endif

}  // namespace meniscus::adapters
