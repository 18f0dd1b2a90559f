// Contract: see metrics.hpp.
#include "adapters/service/metrics.hpp"

#include <algorithm>
#include <charconv>
#include <optional>

#include "adapters/hl7v2/message.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::array<std::string_view, 10> kKinds = {"RDE", "OMP", "ORM", "RDS", "RGV",
                                                     "RAS", "VXU", "PPR", "ADT", "ACK"};
constexpr std::string_view kOther = "other";

/// MSH-9.1, when it is one of the list.
std::string_view kind_of(std::string_view message) {
  const std::size_t start = message.find("MSH");
  if (start == std::string_view::npos || message.size() < start + 5) return kOther;
  const char separator = message[start + 3];
  message = hl7v2::first_line(message.substr(start));
  for (int field = 1; field < 9; ++field) {
    const std::size_t at = message.find(separator);
    if (at == std::string_view::npos) return kOther;
    message.remove_prefix(at + 1);
  }
  const auto* found = std::find(kKinds.begin(), kKinds.end(), message.substr(0, 3));
  return found == kKinds.end() ? kOther : *found;
}

/// MSA-1 of an answer of ours.
std::string_view code_of(std::string_view answer) {
  const std::size_t at = answer.find("\rMSA");
  return at == std::string_view::npos ? kOther : answer.substr(at + 5, 2);
}

void append_number(std::string& out, double value) {
  std::array<char, 32> digits{};
  const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), value);
  out.append(digits.data(), error == std::errc{} ? end : digits.data());
}

/// An edge of a bucket: 0.00005, 1.0.
std::string edge_text(double value) {
  std::array<char, 32> digits{};
  const auto [end, error] =
      std::to_chars(digits.data(), digits.data() + digits.size(), value, std::chars_format::fixed);
  std::string text(digits.data(), error == std::errc{} ? end : digits.data());
  if (text.find('.') == std::string::npos) text += ".0";
  return text;
}

void append_label(std::string& out, std::string_view name, std::string_view value) {
  out += out.back() == '{' ? "" : ",";
  out += name;
  out += "=\"";
  for (const char c : value) {
    if (c == '"' || c == '\\') out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  out += '"';
}

void append_family(std::string& out, std::string_view name, std::string_view type,
                   std::string_view help) {
  out.append("# TYPE meniscus_").append(name).append(" ").append(type).append("\n");
  out.append("# HELP meniscus_").append(name).append(" ").append(help).append("\n");
}

/// One sample: `labels` are name and value in turn.
void append_sample(std::string& out, std::string_view name,
                   std::initializer_list<std::pair<std::string_view, std::string_view>> labels,
                   double value) {
  out.append("meniscus_").append(name);
  if (labels.size() > 0) {
    out += '{';
    for (const auto& [label, text] : labels)
      append_label(out, label, text);
    out += '}';
  }
  out += ' ';
  append_number(out, value);
  out += '\n';
}

template <class Number>
void append_gauge(std::string& out, std::string_view name, std::string_view help, Number value) {
  append_family(out, name, "gauge", help);
  append_sample(out, name, {}, static_cast<double>(value));
}

template <class Map, class Key>
std::uint64_t& count_of(Map& counts, const Key& key) {
  const auto found = counts.find(key);
  return found != counts.end() ? found->second : counts[typename Map::key_type(key)];
}
}  // namespace

void Metrics::judged(const engine::Verdict& verdict) {
  ++outcomes_[verdict.outcome];
  for (const engine::Finding& finding : verdict.findings)
    ++findings_[{std::string(finding.rule), finding.grade}];
  for (const engine::NotAssessed& line : verdict.not_assessed) {
    // "substances: ceftriaxone": what stands after the colon is of the order.
    const std::string_view missing = line.missing;
    ++count_of(not_assessed_, missing.substr(0, missing.find(':')));
  }
}

void Metrics::answered(std::string_view message, std::string_view answers) {
  const std::string_view kind = kind_of(message);
  constexpr std::string_view kEnd = "\x1C\r";
  while (!answers.empty()) {
    const std::size_t end = std::min(answers.find(kEnd), answers.size());
    ++answers_[{kind, std::string(code_of(answers.substr(0, end)))}];
    answers.remove_prefix(std::min(end + kEnd.size(), answers.size()));
  }
}

void Metrics::took(std::string_view peer, double seconds, double now) {
  const auto* bucket = std::lower_bound(kBuckets.begin(), kBuckets.end(), seconds);
  ++latency_.at(static_cast<std::size_t>(bucket - kBuckets.begin()));
  latency_sum_ += seconds;
  const auto found = senders_.find(peer);
  if (found != senders_.end()) {
    found->second = now;
    return;
  }
  if (senders_.size() == kMostSenders) {
    senders_.erase(
        std::min_element(senders_.begin(), senders_.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; }));
  }
  senders_.emplace(peer, now);
}

void Metrics::append_counters(std::string& out) const {
  append_family(out, "answers", "counter", "Answers by kind of message and by code (MSA-1).");
  for (const auto& [key, count] : answers_)
    append_sample(out, "answers_total", {{"kind", key.first}, {"code", key.second}},
                  static_cast<double>(count));
  append_family(out, "orders", "counter", "Orders and records by outcome.");
  for (const auto& [outcome, count] : outcomes_)
    append_sample(out, "orders_total", {{"outcome", name(outcome)}}, static_cast<double>(count));
  append_family(out, "findings", "counter", "Findings by rule and grade.");
  for (const auto& [key, count] : findings_)
    append_sample(out, "findings_total", {{"rule", key.first}, {"grade", name(key.second)}},
                  static_cast<double>(count));
  append_family(out, "not_assessed", "counter",
                "Orders with rules that were not assessed, by what was missing.");
  for (const auto& [missing, count] : not_assessed_)
    append_sample(out, "not_assessed_total", {{"missing", missing}}, static_cast<double>(count));
  append_family(out, "repeats", "counter", "Messages that came again and got the same answer.");
  append_sample(out, "repeats_total", {}, static_cast<double>(repeated_));
  append_family(out, "unkept", "counter",
                "Messages refused because nothing could be kept of them.");
  append_sample(out, "unkept_total", {}, static_cast<double>(unkept_));
  append_family(out, "batches_off", "counter",
                "Batches whose trailer is missing or counts other messages than came.");
  append_sample(out, "batches_off_total", {}, static_cast<double>(batches_off_));
  append_family(out, "rule_reloads", "counter", "Rule sets put into force, or refused.");
  append_sample(out, "rule_reloads_total", {{"result", "accepted"}}, static_cast<double>(reloads_));
  append_sample(out, "rule_reloads_total", {{"result", "refused"}},
                static_cast<double>(refused_reloads_));
  append_family(out, "certificate_reloads", "counter", "Certificates read again, or refused.");
  append_sample(out, "certificate_reloads_total", {{"result", "accepted"}},
                static_cast<double>(certificate_reloads_));
  append_sample(out, "certificate_reloads_total", {{"result", "refused"}},
                static_cast<double>(refused_certificates_));
  append_family(out, "waits", "counter", "Times that a limit was reached and something waited.");
  append_sample(out, "waits_total", {{"limit", "connections"}},
                static_cast<double>(waits_to_connect_));
  append_sample(out, "waits_total", {{"limit", "in-work"}}, static_cast<double>(waits_for_work_));
}

void Metrics::append_latency(std::string& out) const {
  append_family(out, "answer_seconds", "histogram",
                "From the last byte of a message to its answer.");
  std::uint64_t below = 0;
  for (std::size_t i = 0; i < latency_.size(); ++i) {
    below += latency_.at(i);
    const std::string edge = i < kBuckets.size() ? edge_text(kBuckets.at(i)) : "+Inf";
    append_sample(out, "answer_seconds_bucket", {{"le", edge}}, static_cast<double>(below));
  }
  append_sample(out, "answer_seconds_count", {}, static_cast<double>(below));
  append_sample(out, "answer_seconds_sum", {}, latency_sum_);
}

std::string Metrics::text(const Gauges& gauges) const {
  std::string out;
  append_counters(out);
  append_latency(out);
  append_gauge(out, "connections", "Connections that are open.", gauges.connections);
  append_gauge(out, "messages_in_work", "Messages received and not yet answered.", gauges.in_work);
  append_gauge(out, "history_records", "Orders and injections in memory; a store may hold more.",
               gauges.history_records);
  append_gauge(out, "history_patients", "Patients in memory; a store may hold more.",
               gauges.history_patients);
  if (gauges.quarantined)
    append_gauge(out, "quarantined", "Messages in quarantine.", *gauges.quarantined);
  if (gauges.certificate_end)
    append_gauge(out, "certificate_end_timestamp_seconds",
                 "When the service's certificate ends, since 1970-01-01.", *gauges.certificate_end);
  append_family(out, "last_message_age_seconds", "gauge",
                "Since the last message of each sender, by its address.");
  for (const auto& [sender, when] : senders_)
    append_sample(out, "last_message_age_seconds", {{"sender", sender}}, gauges.now - when);
  append_family(out, "rules", "info", "The rule set in force, by its hash.");
  append_sample(out, "rules_info", {{"hash", gauges.rules}}, 1);
  return out + "# EOF\n";
}

}  // namespace meniscus::adapters
