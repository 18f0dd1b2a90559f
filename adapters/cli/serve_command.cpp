// Contract: see serve_command.hpp.
#include "adapters/cli/serve_command.hpp"

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <deque>
#include <memory>
#include <optional>
#include <utility>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/host_clock.hpp"
#include "adapters/cli/inputs.hpp"
#include "adapters/cli/kept_answers.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rule_tests.hpp"
#include "adapters/cli/sinks.hpp"
#include "adapters/mllp/address.hpp"
#include "adapters/mllp/tls.hpp"
#include "adapters/service/service.hpp"
#include "adapters/service/status_server.hpp"

namespace meniscus::adapters {

namespace {
using Endpoint = boost::asio::ip::tcp::endpoint;

LineLevel least_level(LogLevel level) {
  switch (level) {
    case LogLevel::Off:
    case LogLevel::Error:
      return LineLevel::Error;
    case LogLevel::Warn:
      return LineLevel::Warn;
    case LogLevel::Info:
      return LineLevel::Info;
    case LogLevel::Debug:
      return LineLevel::Debug;
  }
  return LineLevel::Warn;
}

ServiceLog service_log(LogLevel level, const Log& log) {
  return {least_level(level), [&log](LineLevel line, std::string_view text) {
            switch (line) {
              case LineLevel::Debug:
                return log.debug(text);
              case LineLevel::Info:
                return log.info(text);
              case LineLevel::Warn:
                return log.warn(text);
              case LineLevel::Error:
                return log.error(text);
            }
          }};
}

/// An address, if what is said there may be heard by others.
engine::Result<Endpoint> safe_address(std::string_view option, const std::string& text,
                                      bool is_safe, std::string_view advice) {
  auto endpoint = mllp::parse_address(option, text);
  if (!endpoint || endpoint->address().is_loopback() || is_safe) return endpoint;
  return engine::Error{engine::Errc::Usage,
                       std::string(option) + " " + text + " " + std::string(advice), 0, 0};
}

/// The rules' own examples and cases, run once.  False, and said: one fails.
bool pass_self_test(const std::shared_ptr<const engine::Program>& program,
                    const Arguments& arguments, const Console& console) {
  const auto paths = rule_paths(arguments, console);
  if (!paths) return false;
  const std::deque<RuleTests> all = rule_tests(program, arguments, console, *paths);
  if (all.empty() || !all.front().is_readable(console)) return false;
  ExamplesReport report;
  for (const RuleTests& tests : all)
    tests.run(report);
  if (report.failed() == 0) return true;
  console.complain(counted(report.failed(), "example") +
                   " of the rules fail; `meniscus rules test` " + "shows which");
  return false;
}

/// All that the service judges by, for the day that it is.  What is wrong is said.
std::optional<RulesInForce> load_rules_in_force(const Arguments& arguments, Console console) {
  console.today = console.local_day();
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return std::nullopt;
  auto feed = load_feed(arguments.profile, *program, console);
  if (!feed || !pass_self_test(program, arguments, console)) return std::nullopt;
  auto answers = load_answers(arguments.answers, *program, console);
  if (!answers || !answers->sound) return std::nullopt;
  say_local_changes(*program, console);
  return RulesInForce{std::move(program), std::move(*feed), console.today,
                      std::make_shared<const engine::Answers>(std::move(answers->answers))};
}

struct Addresses {
  Endpoint mllp;
  std::optional<Endpoint> status;
};

engine::Result<Addresses> addresses(const ServeArguments& serve) {
  const auto mllp = safe_address(
      "--listen", serve.listen, serve.has_tls() || serve.plain_text_network,
      "would let orders cross the network in plain text; name certificates (--tls-certificate, "
      "--tls-key, --tls-client-ca), or listen on 127.0.0.1 or [::1]; where the network itself is "
      "encrypted, write --plain-text-network");
  if (!mllp) return mllp.error();
  Addresses all{*mllp, std::nullopt};
  if (serve.status.empty()) return all;
  const auto status = safe_address(
      "--status", serve.status, serve.plain_text_network,
      "would be heard by others on the network; write 127.0.0.1 or [::1], or --plain-text-network");
  if (!status) return status.error();
  all.status = *status;
  return all;
}

/// The certificates in force; none without encryption.
class Certificates {
 public:
  Certificates(const ServeArguments& serve, const Console& console)
      : serve_(serve), console_(console) {}

  /// False, and said: they cannot be used, and those before stay.
  bool load() {
    if (!serve_.has_tls()) return true;
    auto fresh = mllp::load_tls({serve_.tls_certificate, serve_.tls_key, serve_.tls_client_ca});
    if (!fresh) {
      console_.complain(fresh.error().message);
      return false;
    }
    context_ = std::move(*fresh);
    return true;
  }

  [[nodiscard]] std::optional<double> end() const { return mllp::certificate_end(context_); }

  [[nodiscard]] std::unique_ptr<mllp::Channel> channel(mllp::Channel::Socket socket) const {
    if (context_ == nullptr) return mllp::plain_channel(std::move(socket));
    return mllp::tls_channel(std::move(socket), context_);
  }

 private:
  const ServeArguments& serve_;
  const Console& console_;
  mllp::TlsContext context_;
};

ServiceOptions service_options(const Arguments& arguments, const Certificates& certificates) {
  const ServeArguments& serve = arguments.serve;
  ServiceOptions options{{}, {ack_policy(arguments), static_cast<double>(arguments.resend_window)}};
  options.limits.connections = serve.connections;
  options.limits.in_work = serve.in_work;
  options.limits.idle = std::chrono::seconds(serve.idle);
  options.limits.message = std::chrono::seconds(serve.message_time);
  options.limits.answer = options.limits.message;
  options.follows_days = !arguments.rules_as_of;
  options.history_since = arguments.history_since;
  if (serve.history_keep) options.history_keep = static_cast<std::int64_t>(*serve.history_keep);
  options.certificate_end = [&certificates] { return certificates.end(); };
  options.make_channel = [&certificates](mllp::Channel::Socket socket) {
    return certificates.channel(std::move(socket));
  };
  return options;
}

/// One service from its start to its end.
class ServeRun {
 public:
  ServeRun(const Arguments& arguments, const Console& console, const Log& log, RulesInForce rules,
           Certificates& certificates, ServiceStores stores)
      : console_(console),
        log_(log),
        certificates_(certificates),
        has_certificates_(arguments.serve.has_tls()),
        clock_(console),
        context_(1),
        hash_(rules.program->hash),
        service_(
            context_, service_options(arguments, certificates_), std::move(rules), clock_,
            service_log(arguments.log, log),
            [&arguments, &console] { return load_rules_in_force(arguments, console); },
            std::move(stores)),
        status_(context_, {[this] { return service_.why_not_ready(); },
                           [this] { return service_.metrics(); }}),
        signals_(context_, SIGTERM, SIGINT, SIGHUP) {}

  ExitStatus run(const Addresses& wanted) {
    const engine::Status loaded = service_.load_history();
    if (!loaded) {
      console_.complain(loaded.error().message);
      return ExitStatus::Usage;
    }
    std::string line = "{";
    if (!listen("mllp", wanted.mllp, service_, line)) return ExitStatus::Usage;
    if (wanted.status && !listen("status", *wanted.status, status_, line)) return ExitStatus::Usage;
    wait_for_signal();
    console_.say(line + "\"rules\":\"" + hash_ + "\"}\n");
    context_.run();
    return ExitStatus::Clean;
  }

 private:
  template <class Listening>
  bool listen(std::string_view what, const Endpoint& endpoint, Listening& on, std::string& line) {
    const auto bound = on.listen(endpoint);
    if (!bound) {
      console_.complain(bound.error().message);
      return false;
    }
    line += "\"" + std::string(what) + "\":\"" + mllp::to_text(*bound) + "\",";
    return true;
  }

  void wait_for_signal() {
    signals_.async_wait([this](const boost::system::error_code& problem, int signal) {
      if (problem) return;
      if (signal == SIGHUP) {
        reload_certificates();
        service_.reload();
      } else if (std::exchange(stopping_, true)) {
        return context_.stop();  // asked twice: at once
      } else {
        service_.stop([this] {
          status_.stop();
          signals_.cancel();
        });
      }
      wait_for_signal();
    });
  }

  void reload_certificates() {
    if (!has_certificates_) return;
    const bool accepted = certificates_.load();
    service_.count_certificates(accepted);
    if (!accepted) log_.error("the certificates that were in force stay");
  }

  const Console& console_;
  const Log& log_;
  Certificates& certificates_;
  bool has_certificates_;
  HostClock clock_;
  boost::asio::io_context context_;
  std::string hash_;
  Service service_;
  StatusServer status_;
  boost::asio::signal_set signals_;
  bool stopping_ = false;
};
}  // namespace

ExitStatus run_serve(const Arguments& arguments, const Console& console, const Log& log) {
  const auto wanted = addresses(arguments.serve);
  if (!wanted) {
    console.complain(wanted.error().message);
    return ExitStatus::Usage;
  }
  Certificates certificates(arguments.serve, console);
  if (!certificates.load()) return ExitStatus::Usage;
  auto rules = load_rules_in_force(arguments, console);
  if (!rules) return ExitStatus::Usage;
  log.info(std::to_string(rules->program->rules.size()) + " rules, " + rules->program->hash);
  auto kept = open_history(arguments, console);
  if (!kept) return ExitStatus::Usage;
  auto quarantine = open_quarantine(arguments, console);
  if (!quarantine) return ExitStatus::Usage;
  ServiceStores stores;
  stores.quarantine = std::move(*quarantine);
  if (*kept == nullptr)
    log.warn("the patients' history begins now: what was ordered or given before is not known");
  stores.kept = std::move(*kept);
  return ServeRun(arguments, console, log, std::move(*rules), certificates, std::move(stores))
      .run(*wanted);
}

}  // namespace meniscus::adapters
