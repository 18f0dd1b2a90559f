// Contract: see reloader.hpp.
#include "adapters/service/reloader.hpp"

#include <boost/asio/post.hpp>
#include <exception>
#include <utility>

namespace meniscus::adapters {

Reloader::Reloader(boost::asio::io_context& context, LoadRules load, Loaded loaded)
    : context_(context), load_(std::move(load)), loaded_(std::move(loaded)) {}

Reloader::~Reloader() {
  if (thread_.joinable()) thread_.join();
}

void Reloader::start() {
  if (running_) {
    again_ = true;
    return;
  }
  running_ = true;
  if (thread_.joinable()) thread_.join();  // the one before is through
  auto work = boost::asio::make_work_guard(context_);
  thread_ = std::thread([this, work = std::move(work)] {
    std::optional<RulesInForce> rules;
    try {
      rules = load_();
    } catch (const std::exception&) {
      rules.reset();  // no memory, or a library's own failure: refused like a mistake
    }
    boost::asio::post(context_,
                      [this, rules = std::move(rules)]() mutable { finish(std::move(rules)); });
  });
}

void Reloader::finish(std::optional<RulesInForce> rules) {
  running_ = false;
  const bool again = std::exchange(again_, false);
  if (again) return start();
  loaded_(std::move(rules));
}

}  // namespace meniscus::adapters
