// Contract: see serve_command.hpp.
#include "adapters/cli/serve_command.hpp"

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <utility>

#include "adapters/cli/host_clock.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/sinks.hpp"
#include "adapters/mllp/address.hpp"
#include "adapters/service/service.hpp"

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

/// Where to listen, if orders may cross what lies there.
engine::Result<Endpoint> safe_address(const ServeArguments& serve) {
  auto endpoint = mllp::parse_address("--listen", serve.listen);
  if (!endpoint || endpoint->address().is_loopback() || serve.plain_text_network) return endpoint;
  return engine::Error{
      engine::Errc::Usage,
      "--listen " + serve.listen +
          " would let orders cross the network in plain text; listen on 127.0.0.1 or [::1], or, "
          "where the network itself is encrypted, write --plain-text-network",
      0, 0};
}

ServiceOptions service_options(const Arguments& arguments) {
  const ServeArguments& serve = arguments.serve;
  ServiceOptions options{{}, ack_policy(arguments)};
  options.limits.connections = serve.connections;
  options.limits.in_work = serve.in_work;
  options.limits.idle = std::chrono::seconds(serve.idle);
  options.limits.message = std::chrono::seconds(serve.message_time);
  options.limits.answer = options.limits.message;
  return options;
}

/// One service from its start to its end.
class ServeRun {
 public:
  ServeRun(const Arguments& arguments, const Console& console, const Log& log, RulesInForce rules)
      : console_(console),
        clock_(console),
        context_(1),
        hash_(rules.program->hash),
        service_(context_, service_options(arguments), std::move(rules), clock_,
                 service_log(arguments.log, log)),
        signals_(context_, SIGTERM, SIGINT) {}

  ExitStatus run(const Endpoint& endpoint) {
    const auto bound = service_.listen(endpoint);
    if (!bound) {
      console_.complain(bound.error().message);
      return ExitStatus::Usage;
    }
    signals_.async_wait([this](const boost::system::error_code& problem, int /*signal*/) {
      if (problem) return;
      service_.stop([] {});  // with nothing left to do, run() returns
    });
    console_.say("{\"mllp\":\"" + mllp::to_text(*bound) + "\",\"rules\":\"" + hash_ + "\"}\n");
    context_.run();
    return ExitStatus::Clean;
  }

 private:
  const Console& console_;
  HostClock clock_;
  boost::asio::io_context context_;
  std::string hash_;
  Service service_;
  boost::asio::signal_set signals_;
};
}  // namespace

ExitStatus run_serve(const Arguments& arguments, const Console& console, const Log& log) {
  const auto endpoint = safe_address(arguments.serve);
  if (!endpoint) {
    console.complain(endpoint.error().message);
    return ExitStatus::Usage;
  }
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  say_local_changes(*program, console);
  log.info(std::to_string(program->rules.size()) + " rules, " + program->hash);
  log.warn("the patients' history begins now: what was ordered or given before is not known");
  return ServeRun(arguments, console, log, {std::move(program), std::move(*feed)}).run(*endpoint);
}

}  // namespace meniscus::adapters
