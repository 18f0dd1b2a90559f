# Writes OUTPUT, the source of build_fingerprint() (fingerprint.hpp): cmake -DROOT=... -DVERSION=... -DOUTPUT=... -P this
file(GLOB_RECURSE sources RELATIVE ${ROOT}
     ${ROOT}/engine/*.cpp ${ROOT}/engine/*.hpp ${ROOT}/engine/*.def ${ROOT}/grammar/*.cpp ${ROOT}/grammar/*.hpp
     ${ROOT}/grammar/*.def ${ROOT}/grammar/*.g4 ${ROOT}/adapters/compiled/*.cpp ${ROOT}/adapters/compiled/*.hpp)
list(SORT sources)
set(all "${VERSION}\n")
foreach(source ${sources})
  file(SHA256 ${ROOT}/${source} hash)
  string(APPEND all "${source} ${hash}\n")
endforeach()
string(SHA256 fingerprint "${all}")
file(CONFIGURE OUTPUT ${OUTPUT} @ONLY CONTENT [=[
// Written by adapters/compiled/fingerprint.cmake.
#include "adapters/compiled/fingerprint.hpp"

std::string_view meniscus::adapters::build_fingerprint() {
  return "@fingerprint@";
}
]=])
