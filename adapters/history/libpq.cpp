// Contract: libpq.hpp.
#include "adapters/history/libpq.hpp"

#include <dlfcn.h>

#include <string>

namespace meniscus::adapters::postgres {
namespace {

constexpr const char* kLibrary = "libpq.so.5";  // 5 since PostgreSQL 8.0

struct Opened {
  LibPq functions;
  std::string problem;  // empty: all are there
};

template <class Function>
void find(void* library, const char* name, Function& into, std::string& problem) {
  into = reinterpret_cast<Function>(dlsym(library, name));  // NOLINT(*-reinterpret-cast): as POSIX
  if (into == nullptr && problem.empty())
    problem = std::string(kLibrary) + " is too old: it has no " + name;
}

Opened open_it() {
  Opened opened;
  void* const library = dlopen(kLibrary, RTLD_NOW | RTLD_LOCAL);  // never closed
  if (library == nullptr) {
    opened.problem = std::string("PostgreSQL's client library ") + kLibrary +
                     " cannot be opened (Debian package libpq5)";
    return opened;
  }
#define MENISCUS_FIND(name) find(library, #name, opened.functions.name, opened.problem);
  MENISCUS_LIBPQ(MENISCUS_FIND)
#undef MENISCUS_FIND
  return opened;
}

const Opened& opened() {
  static const Opened kOpened = open_it();
  return kOpened;
}

}  // namespace

engine::Status open_libpq() {
  if (opened().problem.empty()) return engine::Done{};
  return engine::Error{engine::Errc::Input, opened().problem, 0, 0};
}

const LibPq& libpq() { return opened().functions; }

}  // namespace meniscus::adapters::postgres
