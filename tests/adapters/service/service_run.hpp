// What the tests of the service share: rules, a clock that the test sets, a service on a thread of
// its own, and a plain client.
#pragma once

#include <gtest/gtest.h>

#include <array>
#include <atomic>
#include <boost/asio.hpp>
#include <future>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>

#include "adapters/rules/rule_files.hpp"
#include "adapters/service/service.hpp"
#include "adapters/text/re2_pattern.hpp"

namespace meniscus::testing {

namespace asio = boost::asio;

/// Days and seconds as the test says.
class TestClock final : public engine::Clock {
 public:
  [[nodiscard]] std::int64_t today() const override { return day; }
  [[nodiscard]] std::string message_time() const override { return "20260302091400+0100"; }
  [[nodiscard]] double seconds() const override { return now; }
  [[nodiscard]] double since_epoch() const override { return 1'772'000'000 + now; }
  std::atomic<std::int64_t> day{20514};  // 2026-03-02
  std::atomic<double> now{1000};
};

inline adapters::RulesInForce rules_of(const std::string& folder) {
  adapters::LoadOptions options;
  options.rules_day = 20514;
  const adapters::LoadedRules loaded =
      adapters::load_rules({folder}, adapters::re2_patterns(), options);
  EXPECT_NE(loaded.program, nullptr);
  return {loaded.program, {}, options.rules_day};
}

inline const adapters::RulesInForce& shipped_rules() {
  static const adapters::RulesInForce kRules = rules_of(MENISCUS_SOURCE_DIR "/rules");
  return kRules;
}

/// An order that is accepted: 15 mg of a product of 30 mg/mL into the deltoid.
inline std::string order(const std::string& id, const std::string& dose = "15",
                         const std::string& modes = "") {
  return "MSH|^~\\&|APP|FAC|RX|PH|20260302||RDE^O11^RDE_O11|" + id + "|P|2.5.1|||" + modes +
         "\rPID|1||SM-0012||||19880402\rAL1|1||\"\"\rORC|NW|" + id + "^X|F-1^Y\rRXE||ketorolac|" +
         dose + "||mg||||||||||||||||||||30|mg|||||||1|mL\rRXR|IM|LD\r";
}

inline std::string frame(const std::string& message) { return "\x0B" + message + "\x1C\r"; }

inline bool has(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

/// A client that waits for what it asks for.
class Client {
 public:
  explicit Client(const asio::ip::tcp::endpoint& server) : socket_(context_) {
    socket_.connect(server);
  }
  void send(std::string_view bytes) { asio::write(socket_, asio::buffer(bytes)); }
  /// One answer without its frame; empty when the server closed instead.
  std::string answer() {
    boost::system::error_code problem;
    const std::size_t size =
        asio::read_until(socket_, asio::dynamic_buffer(got_), "\x1C\r", problem);
    if (problem) return {};
    std::string text = got_.substr(1, size - 3);
    got_.erase(0, size);
    return text;
  }
  /// Whether the server closes, without one more byte.
  bool is_closed() {
    boost::system::error_code problem;
    asio::read(socket_, asio::dynamic_buffer(got_), problem);
    return got_.empty() && problem;
  }
  asio::ip::tcp::socket& socket() { return socket_; }

 private:
  asio::io_context context_;
  asio::ip::tcp::socket socket_;
  std::string got_;
};

/// A service on a free port of this machine.
class ServiceRun {
 public:
  explicit ServiceRun(const adapters::ServiceOptions& options, adapters::LoadRules load = {},
                      adapters::RulesInForce rules = shipped_rules(),
                      std::unique_ptr<adapters::KeptHistory> kept = nullptr)
      : service_(context_, options, std::move(rules), clock,
                 {adapters::LineLevel::Debug,
                  [this](adapters::LineLevel, std::string_view text) {
                    const std::lock_guard lock(log_lock_);
                    (log_ += text) += '\n';
                  }},
                 std::move(load), {std::move(kept), nullptr}) {
    const engine::Status loaded = service_.load_history();
    EXPECT_TRUE(loaded || options.history_since);
    const auto bound = service_.listen({asio::ip::address_v4::loopback(), 0});
    EXPECT_TRUE(bound);
    endpoint = *bound;
    thread_ = std::thread([this] { context_.run(); });
  }
  ~ServiceRun() { stop(); }

  /// What `ask` gives on the service's thread.
  template <class Ask>
  std::string on_its_thread(Ask ask) {
    std::promise<std::string> said;
    asio::post(context_, [&] { said.set_value(ask(service_)); });
    return said.get_future().get();
  }
  /// Stops and waits for the end.
  void stop() {
    if (!thread_.joinable()) return;
    asio::post(context_, [this] { service_.stop([] {}); });
    thread_.join();
  }
  std::string log() {
    const std::lock_guard lock(log_lock_);
    return log_;
  }
  /// Waits until the log says `part`.
  void wait_for(std::string_view part) {
    while (!has(log(), part))
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  adapters::Service& service() { return service_; }

  TestClock clock;
  asio::ip::tcp::endpoint endpoint;

 private:
  asio::io_context context_{1};
  std::mutex log_lock_;
  std::string log_;
  adapters::Service service_;
  std::thread thread_;
};

inline adapters::ServiceOptions usual_options() {
  return {{}, {{adapters::hl7v2::OnHold::Ua, engine::Outcome::Clarify}}};
}

}  // namespace meniscus::testing
