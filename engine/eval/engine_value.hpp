// Values that the engine works out from an order and well-known tables (docs/rule-language.md).
#pragma once

#include <span>

#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

/// Missing when something that it needs is; EngineValueInfo::needs names the fields.
Value engine_value(Scalar& scalar, EngineValue value);

/// Every field that the value is worked out from, where it is from fields, tables and settings
/// alone; empty where days play a part.
std::span<const FieldId> engine_value_reads(EngineValue value);

}  // namespace meniscus::engine
