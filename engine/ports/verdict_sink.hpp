// Where verdicts go: the one interface that an output format implements.
#pragma once

#include "engine/base/result.hpp"
#include "engine/order/order_block.hpp"
#include "engine/ports/order_source.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::engine {

class VerdictSink {
 public:
  VerdictSink() = default;
  VerdictSink(const VerdictSink&) = delete;
  VerdictSink& operator=(const VerdictSink&) = delete;
  virtual ~VerdictSink() = default;

  /// One verdict, in input order.  The verdict, block and source are valid during the call.
  virtual void write(const Verdict& verdict, const OrderBlock& block,
                     const OrderSource& source) = 0;
  /// Called once after the last verdict.  Errors: Input, when the output could not be written.
  virtual Status finish() = 0;
};

}  // namespace meniscus::engine
