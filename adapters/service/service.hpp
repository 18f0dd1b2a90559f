// An HL7 v2 service: messages over MLLP, each judged and answered, one after the other.
//
// Sequence: one thread reads, judges and writes.  Messages are judged in the order in which they
//           came whole, over all connections; so a patient's orders are, and the one history needs
//           no lock.  Judging takes microseconds, less than the system calls around it.
// Answers:  leave in release(), and nowhere else.
// Stop:     stop() accepts nothing more, answers what was read whole, and closes.
// Threads:  all on the thread that runs the io_context.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/mllp/server.hpp"
#include "adapters/service/answerer.hpp"
#include "adapters/service/rules_in_force.hpp"
#include "adapters/service/service_log.hpp"
#include "engine/history/history.hpp"
#include "engine/ports/clock.hpp"

namespace meniscus::adapters {

struct ServiceOptions {
  mllp::Limits limits;
  hl7v2::AckPolicy policy;
};

class Service : private mllp::Events {
 public:
  /// `context` and `clock` outlive the service; the service outlives all handlers of `context`.
  Service(boost::asio::io_context& context, const ServiceOptions& options, RulesInForce rules,
          const engine::Clock& clock, ServiceLog log);

  /// Begins to take connections, and gives the address.  Errors: Input, one sentence.
  engine::Result<boost::asio::ip::tcp::endpoint> listen(
      const boost::asio::ip::tcp::endpoint& endpoint);

  /// `stopped` is called once everything is answered and closed.
  void stop(std::function<void()> stopped);

  [[nodiscard]] std::uint64_t answered() const { return answered_; }
  [[nodiscard]] const engine::History& history() const { return *history_; }

 private:
  struct Ready {
    mllp::Server::Work work;
    std::string bytes;
  };

  void opened(std::uint64_t id, std::string_view peer) override;
  void closed(std::uint64_t id, mllp::Closed reason, std::string_view why) override;
  void skipped(std::uint64_t id) override;
  void bare_end(std::uint64_t id) override;
  void connections_full() override;
  void work_full() override;
  void not_accepted(std::string_view why) override;

  void take(mllp::Server::Work work);
  void judge_all();
  void release();
  void say_stopped();
  void say_never_assessed() const;

  boost::asio::io_context& context_;
  ServiceOptions options_;
  RulesInForce rules_;
  const engine::Clock& clock_;
  ServiceLog log_;
  std::unique_ptr<engine::History> history_;
  std::unique_ptr<Answerer> answerer_;
  mllp::Server server_;
  std::vector<mllp::Server::Work> queue_;    // whole messages that wait to be judged
  std::vector<mllp::Server::Work> judging_;  // those of this turn
  std::vector<Ready> ready_;                 // judged, to be released
  bool scheduled_ = false;
  bool connections_full_said_ = false;
  bool work_full_said_ = false;
  std::uint64_t answered_ = 0;
  std::function<void()> stopped_;
};

}  // namespace meniscus::adapters
