// What a service counts, as OpenMetrics text.
//
// Never:    a value of an order or a patient.  Labels are rules, grades, fields, kinds of messages
//           from a closed list, and addresses of peers.
// Memory:   bounded: senders by kMostSenders, the others by the rules and the tables of fields.
// Source:   OpenMetrics 1.0.0 (openmetrics.io): names, `_total`, `# EOF`; buckets as in its
//           section on histograms.
// Threads:  one at a time.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "adapters/service/answer_watch.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// What only the service knows at the moment when it is asked.
struct Gauges {
  std::size_t connections = 0;
  std::size_t in_work = 0;
  std::size_t history_records = 0;
  std::size_t history_patients = 0;
  double now = 0;                            // engine::Clock::seconds()
  std::string_view rules;                    // their hash
  std::optional<std::size_t> quarantined{};  // none where there is no quarantine
  std::optional<double> certificate_end{};   // seconds since 1970-01-01; none without TLS
};

class Metrics : public AnswerWatch {
 public:
  static constexpr std::size_t kMostSenders = 256;

  void judged(const engine::Verdict& verdict) override;
  void repeated(std::string_view /*answer*/) override { ++repeated_; }
  void batch_is_off() override { ++batches_off_; }
  /// `message`: as it was received; `answers`: all that is sent for it, in their frames.
  void answered(std::string_view message, std::string_view answers);
  /// The orders of a message could not be kept, and it was refused.
  void unkept() { ++unkept_; }
  /// A message from `peer` was answered at `now`, `seconds` after it was whole.
  void took(std::string_view peer, double seconds, double now);
  void reloaded(bool accepted) { ++(accepted ? reloads_ : refused_reloads_); }
  void certificates_reloaded(bool accepted) {
    ++(accepted ? certificate_reloads_ : refused_certificates_);
  }
  void waited_to_connect() { ++waits_to_connect_; }
  void waited_for_work() { ++waits_for_work_; }

  [[nodiscard]] std::string text(const Gauges& gauges) const;

 private:
  template <class Key>
  using Counts = std::map<Key, std::uint64_t, std::less<>>;

  static constexpr std::array<double, 13> kBuckets = {
      0.00005, 0.0001, 0.00025, 0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.1, 0.25, 1, 10};

  void append_counters(std::string& out) const;
  void append_latency(std::string& out) const;

  Counts<std::pair<std::string_view, std::string>> answers_;  // kind and code
  Counts<std::pair<std::string, engine::Grade>> findings_;    // rule and grade
  Counts<engine::Outcome> outcomes_;
  Counts<std::string> not_assessed_;                    // field, table or setting
  std::map<std::string, double, std::less<>> senders_;  // when each was heard last
  std::array<std::uint64_t, kBuckets.size() + 1> latency_{};
  double latency_sum_ = 0;
  std::uint64_t repeated_ = 0;
  std::uint64_t unkept_ = 0;
  std::uint64_t batches_off_ = 0;
  std::uint64_t reloads_ = 0;
  std::uint64_t refused_reloads_ = 0;
  std::uint64_t certificate_reloads_ = 0;
  std::uint64_t refused_certificates_ = 0;
  std::uint64_t waits_to_connect_ = 0;
  std::uint64_t waits_for_work_ = 0;
};

}  // namespace meniscus::adapters
