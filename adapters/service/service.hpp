// An HL7 v2 service: messages over MLLP, each judged and answered, one after the other.
//
// Sequence: one thread reads, judges and writes.  Messages are judged in the order in which they
//           came whole, over all connections; so a patient's orders are, and the one history needs
//           no lock.  Judging takes microseconds, less than the system calls around it.
// Turns:    the messages that have come whole meanwhile are judged together, and what their answers
//           depend on is brought to the disk by one commit: where the store can, by a thread of its
//           own, while the messages of the next turn are judged as they come.  Where a commit
//           fails, each message of the turn, and of the next one, which builds on it, is tried in a
//           turn of its own, so that only what cannot be kept is refused.
// Answers:  leave in release(), and nowhere else.
// Rules:    reload() reads them beside the work and puts them into force between two messages; a
//           set with mistakes is refused and the old one stays; so is one that looks back on more
//           than the history has kept, where there is no store that has kept it.  On a new day the
//           first message waits until the rules of that day are there.
// Stop:     stop() accepts nothing more, answers what was read whole, and closes.
// Threads:  all on the thread that runs the io_context, but for the store's.
#pragma once

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/mllp/server.hpp"
#include "adapters/service/answerer.hpp"
#include "adapters/service/metrics.hpp"
#include "adapters/service/reloader.hpp"
#include "adapters/service/rules_in_force.hpp"
#include "adapters/service/service_log.hpp"
#include "engine/history/history.hpp"
#include "engine/ports/clock.hpp"

namespace meniscus::adapters {

struct ServiceOptions {
  mllp::Limits limits;
  AnswerOptions answers;
  bool follows_days = true;  // the rules in force are those of today
  mllp::Server::MakeChannel make_channel = mllp::plain_channel;
  std::optional<std::int64_t> history_since{};  // by the host's word all is known since this day
  std::optional<std::int64_t> history_keep{};   // days that a store keeps; none: all
  std::function<std::optional<double>()> certificate_end{};  // seconds since 1970-01-01
};

/// Where the service leaves traces; either may be null.
struct ServiceStores {
  std::unique_ptr<KeptHistory> kept{};       // null: history ends with this process
  std::unique_ptr<Quarantine> quarantine{};  // null: messages that cannot be read are only refused
};

class Service : private mllp::Events {
 public:
  /// `context` and `clock` outlive the service; the service outlives all handlers of `context`.
  Service(boost::asio::io_context& context, const ServiceOptions& options, RulesInForce rules,
          const engine::Clock& clock, ServiceLog log, LoadRules load, ServiceStores stores = {});

  /// Before listen(): since when all is known.
  engine::Status load_history();

  /// Begins to take connections, and gives the address.  Errors: Input, one sentence.
  engine::Result<boost::asio::ip::tcp::endpoint> listen(
      const boost::asio::ip::tcp::endpoint& endpoint);

  /// `stopped` is called once everything is answered and closed.
  void stop(std::function<void()> stopped);

  void reload();
  /// Certificates were read again; refused, those before stay.
  void count_certificates(bool accepted) { metrics_.certificates_reloaded(accepted); }

  /// Empty: ready.  Asks the store, at most once a second.
  [[nodiscard]] std::string why_not_ready();
  /// OpenMetrics text.
  [[nodiscard]] std::string metrics() const;

  [[nodiscard]] std::uint64_t answered() const { return answered_; }
  [[nodiscard]] const engine::History& history() const { return *history_; }

 private:
  struct Message {
    mllp::Server::Work work;
    double since = 0;   // Clock::seconds() when it was whole
    std::string bytes;  // of its answers, once it is judged
  };

  void opened(std::uint64_t id, std::string_view peer) override;
  void closed(std::uint64_t id, mllp::Closed reason, std::string_view why) override;
  void skipped(std::uint64_t id) override;
  void bare_end(std::uint64_t id) override;
  void connections_full() override;
  void work_full() override;
  void not_accepted(std::string_view why) override;

  void take(mllp::Server::Work work);
  void schedule();
  void judge_all();
  bool judge(std::span<Message> messages);
  bool judge_alone(Message& message);
  [[nodiscard]] std::span<const Asked> asked(std::span<Message> messages);
  bool is_well(const engine::Status& done);
  void refuse(Message& message);
  bool hand_over();
  void commit();
  void land(double at);
  bool settle(double at);
  void finish_turns();
  void give_up();
  [[nodiscard]] bool judges_beside() const;
  [[nodiscard]] bool waits_for_commit() const;
  void make_history();
  void drop_old_answers();
  bool is_store_away();
  void drop_old_orders();
  bool waits_for_the_day();
  void loaded(std::optional<RulesInForce> rules);
  [[nodiscard]] bool history_serves(const engine::Program& program) const;
  void use(RulesInForce rules);
  void release(std::vector<Message>& messages);
  void say_stopped();
  void say_never_assessed() const;

  boost::asio::io_context& context_;
  ServiceOptions options_;
  RulesInForce rules_;
  const engine::Clock& clock_;
  ServiceLog log_;
  Metrics metrics_;
  double look_back_ = 0;  // of history_, with the fields that it keeps
  engine::FieldSet kept_;
  engine::FieldSet kept_written_;
  std::unique_ptr<engine::History> history_;
  ServiceStores stores_;
  std::unique_ptr<Answerer> answerer_;
  mllp::Server server_;
  Reloader reloader_;
  std::vector<Message> queue_;  // whole messages that wait to be judged
  std::vector<Message> ready_;  // those of the open turn, judged; kept, they are released
  std::vector<Asked> asked_;    // room for all messages in work
  bool scheduled_ = false;
  double judged_ = 0;  // seconds that judging ready_ took
  /// A turn that was handed over.
  struct Flight {
    std::vector<Message> messages;
    std::uint64_t number;  // counts up
    double since;          // Clock::seconds()
    double judged;         // seconds that judging its messages took
    // The loop runs until it has landed.
    boost::asio::executor_work_guard<boost::asio::io_context::executor_type> guard;
  };
  std::deque<Flight> flights_;
  std::uint64_t flown_ = 0;
  /// The last commit.
  struct Commit {
    double at = 0;      // Clock::seconds()
    double kept = 0;    // seconds that it took
    double judged = 0;  // seconds that judging its messages took
  };
  Commit last_;
  bool awaiting_day_ = false;  // the rules of tried_day_ are being loaded
  std::int64_t tried_day_ = 0;
  double reached_ = -1;         // seconds, when the store was asked last
  bool is_away_ = false;        // it did not answer then
  bool is_unkept_ = false;      // it did not keep a message, and nothing since
  double answers_dropped_ = 0;  // when old answers were dropped last
  bool connections_full_said_ = false;
  bool work_full_said_ = false;
  std::uint64_t answered_ = 0;
  std::function<void()> stopped_;
};

}  // namespace meniscus::adapters
