// Values that the engine works out from an order and well-known tables (docs/engine-values.md).
#pragma once

#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

/// Missing when something that it needs is; EngineValueInfo::needs names the fields.
Value engine_value(Scalar& scalar, EngineValue value);

}  // namespace meniscus::engine
