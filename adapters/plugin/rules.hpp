// Compiled rules behind the handle.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "adapters/plugin/meniscus.h"
#include "engine/program/program.hpp"

/// The handle.  Never changes; a checker shares the program and needs no handle to live on.
struct MeniscusRules {
  std::shared_ptr<const meniscus::engine::Program> program;  // shared with checkers
  std::string day;
};
