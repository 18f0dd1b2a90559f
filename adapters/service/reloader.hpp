// Loads rules beside the running service, on a thread of its own.
//
//   Reloader reloader(context, load, [&](std::optional<RulesInForce> rules) { ... });
//   reloader.start();     // returns at once; `loaded` is called on the io_context's thread
//
// Again:    start() while a load is under way begins another one after it, so what was saved last
// is
//           what is read.
// Threads:  start() and the destructor on the io_context's thread; `load` on its own.
#pragma once

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <functional>
#include <optional>
#include <thread>

#include "adapters/service/rules_in_force.hpp"

namespace meniscus::adapters {

/// Reads all rules and the feed's profile anew, for the day that it is.  Nothing: something is
/// wrong, and was said.
using LoadRules = std::function<std::optional<RulesInForce>()>;

class Reloader {
 public:
  using Loaded = std::function<void(std::optional<RulesInForce>)>;

  Reloader(boost::asio::io_context& context, LoadRules load, Loaded loaded);
  ~Reloader();
  Reloader(const Reloader&) = delete;
  Reloader& operator=(const Reloader&) = delete;

  void start();
  [[nodiscard]] bool is_running() const { return running_; }

 private:
  void finish(std::optional<RulesInForce> rules);

  boost::asio::io_context& context_;
  LoadRules load_;
  Loaded loaded_;
  std::thread thread_;
  bool running_ = false;
  bool again_ = false;
};

}  // namespace meniscus::adapters
