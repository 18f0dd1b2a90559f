// The service under load, beside a server that frames and answers and does nothing else.
//
// Fair:    both stand in this process, each on one thread, and take turns, round by round, on the
//          same messages; so what else the machine does falls on both.  Figures are medians of
//          the rounds, ratios those of the rounds' own pairs.
// Without: a store for history, TLS, and the network between two machines.
//
// usage: bench_service [--messages N] [--rounds N]      (20000, 5; with --benchmark_min_time, a
//        short look)
#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "adapters/rules/rule_files.hpp"
#include "adapters/service/service.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "tests/bench/service/bare_server.hpp"
#include "tests/bench/service/load.hpp"

namespace {

namespace asio = boost::asio;
using meniscus::bench::LoadResult;
using meniscus::bench::send_load;

constexpr std::int64_t kDay = 20514;  // 2026-03-02

class FixedClock final : public meniscus::engine::Clock {
 public:
  [[nodiscard]] std::int64_t today() const override { return kDay; }
  [[nodiscard]] std::string message_time() const override { return "20260302091400+0100"; }
  [[nodiscard]] double seconds() const override {
    const auto since = std::chrono::steady_clock::now().time_since_epoch();
    return std::chrono::duration<double>(since).count();
  }
  [[nodiscard]] double since_epoch() const override { return 1'772'000'000 + seconds(); }
};

/// Orders for 5000 patients, as a pharmacy feed sends them: about 600 bytes each; one in ten asks
/// for twice the volume that its dose needs.
std::vector<std::string> make_messages() {
  std::vector<std::string> messages;
  for (int i = 0; i < 5000; ++i) {
    const std::string id = std::to_string(100000 + i);
    messages.push_back(
        "\x0BMSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|20260302091400+0100||RDE^O11^RDE_O11|" +
        id + "|P|2.5.1\rPID|1||SM-" + id +
        "^^^SLATEMOOR^MR||||19880402|F\rAL1|1|DA|\"\"\rORC|NW|A-" + id + "^SLATEMOOR|F-" + id +
        "^RX||||||20260302091400+0100|||P-7\r" +
        "RXE||testosterone-cypionate^Testosterone cypionate 200 mg/mL^L|" +
        (i % 10 == 0 ? "100" : "50") + "||mg^^UCUM|INJ|^Inject 0.25 mL under the skin once a week" +
        "|||1|VIAL|3|||||||||||||200|mg|||||||1|mL\rTQ1|1||Q1W||||20260302\r" +
        "RXR|SC^Subcutaneous^HL70162|LLAQ^Left lower abdomen^HL70163\r" +
        "OBX|1|NM|29463-7^Body weight^LN||71|kg^^UCUM|||||F|||20260220\r\x1C\r");
  }
  return messages;
}

/// The service of the program, on a thread of its own.
class Meniscus {
 public:
  Meniscus() : service_(context_, options(), rules(), clock_, {}, {}) {
    const auto bound = service_.listen({asio::ip::address_v4::loopback(), 0});
    if (!bound) std::exit(1);
    endpoint_ = *bound;
    thread_ = std::thread([this] { context_.run(); });
  }
  ~Meniscus() {
    context_.stop();
    thread_.join();
  }
  Meniscus(const Meniscus&) = delete;
  Meniscus& operator=(const Meniscus&) = delete;
  [[nodiscard]] const asio::ip::tcp::endpoint& endpoint() const { return endpoint_; }

 private:
  static meniscus::adapters::ServiceOptions options() {
    meniscus::adapters::ServiceOptions options{
        {}, {{meniscus::adapters::hl7v2::OnHold::Ua, meniscus::engine::Outcome::Incomplete}}};
    options.limits.connections = 1000;
    return options;
  }
  static meniscus::adapters::RulesInForce rules() {
    meniscus::adapters::LoadOptions load;
    load.rules_day = kDay;
    load.examples = false;
    const auto loaded = meniscus::adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"},
                                                       meniscus::adapters::re2_patterns(), load);
    if (loaded.program == nullptr) std::exit(1);
    return {loaded.program, {}, kDay};
  }

  FixedClock clock_;
  asio::io_context context_{1};
  meniscus::adapters::Service service_;
  asio::ip::tcp::endpoint endpoint_;
  std::thread thread_;
};

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

struct Rounds {
  std::vector<double> rate, p50, p99, p999;
  void add(const LoadResult& result) {
    rate.push_back(result.per_second);
    p50.push_back(result.within(0.5));
    p99.push_back(result.within(0.99));
    p999.push_back(result.within(0.999));
  }
  void print(std::size_t connections, const char* what) const {
    std::printf("%11zu  %-8s  %10.0f  %8.0f  %8.0f  %8.0f\n", connections, what, median(rate),
                median(p50), median(p99), median(p999));
  }
};

double ratio(const std::vector<double>& ours, const std::vector<double>& bare) {
  std::vector<double> ratios;
  for (std::size_t i = 0; i < ours.size(); ++i)
    ratios.push_back(ours[i] / bare[i]);
  return median(ratios);
}

std::size_t number_after(int argc, char** argv, const char* option, std::size_t usual) {
  for (int i = 1; i + 1 < argc; ++i)
    if (std::strcmp(argv[i], option) == 0) return std::strtoul(argv[i + 1], nullptr, 10);
  return usual;
}

}  // namespace

int main(int argc, char** argv) {
  bool quick = false;
  for (int i = 1; i < argc; ++i)
    quick = quick || std::strncmp(argv[i], "--benchmark", 11) == 0;
  const std::size_t count = number_after(argc, argv, "--messages", quick ? 2000 : 20000);
  const std::size_t rounds = number_after(argc, argv, "--rounds", quick ? 1 : 5);
  const std::vector<std::string> messages = make_messages();
  const Meniscus meniscus;
  const meniscus::bench::BareServer bare;
  std::printf("connections  server    messages/s  p50 (us)  p99 (us)  p99.9 (us)\n");
  for (const std::size_t connections : {1, 16, 256}) {
    Rounds ours;
    Rounds theirs;
    for (std::size_t round = 0; round < rounds; ++round) {
      theirs.add(send_load(bare.endpoint(), connections, count, messages));
      ours.add(send_load(meniscus.endpoint(), connections, count, messages));
    }
    theirs.print(connections, "bare");
    ours.print(connections, "meniscus");
    std::printf("%11zu  %-8s  %10.2f  %8.2f  %8.2f  %8.2f\n", connections, "ratio",
                ratio(ours.rate, theirs.rate), ratio(ours.p50, theirs.p50),
                ratio(ours.p99, theirs.p99), ratio(ours.p999, theirs.p999));
  }
  return 0;
}
