// The service under load, beside a server that frames and answers and does nothing else, and beside
// bare commits to the same disk.
//
// Servers: without a store, with SQLite, and, where --postgresql names one, with PostgreSQL.
// Fair:    all stand in this process, each on a thread of its own, and take turns, round by round,
//          on the same messages; so what else the machine does falls on all.  Figures are medians
//          of the rounds, ratios those of the rounds' own pairs.
// Commits: 600 bytes at the end of a file and fdatasync, one after the other.
// Without: TLS, and the network between two machines.
//
// usage: bench_service [--messages N] [--rounds N] [--on FOLDER] [--postgresql ADDRESS]
//        (20000, 5, where it is started; with --benchmark_min_time, a short look)
//        bench_service --server 127.0.0.1:PORT [--messages N] [--connections N] [--together N]
//                      [--process ID]
//        a load for a service that runs already (20000, 16, 1): each connection sends so many
//        messages in one piece; of the process, what memory it holds is said after each 100,000
//        messages
#include <fcntl.h>
#include <stdlib.h>  // NOLINT(*-deprecated-headers): mkdtemp is POSIX
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "adapters/mllp/address.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/service/service.hpp"
#include "adapters/support/heap_pages.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/quantity/calendar.hpp"
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

/// 20260302 of days since 1970-01-01.
std::string digits_of(std::int64_t day) {
  std::string digits = meniscus::engine::format_day(day);
  std::erase(digits, '-');
  return digits;
}

/// Weekly orders of 5000 patients, as a pharmacy feed sends them: about 600 bytes each, every one
/// with a number of its own; one in ten asks for twice the volume that its dose needs.
class Feed {
 public:
  std::vector<std::string> next(std::size_t count) {
    std::vector<std::string> messages;
    messages.reserve(count);
    for (std::size_t i = 0; i < count; ++i)
      messages.push_back(message(number_++));
    return messages;
  }

 private:
  static std::string message(std::size_t number) {
    constexpr std::size_t kPatients = 5000;
    const auto week = static_cast<std::int64_t>(number / kPatients);
    const std::string day = digits_of(kDay - 400 + 7 * week);
    const std::string patient = std::to_string(100000 + number % kPatients);
    const std::string id = std::to_string(number);
    std::string text = "\x0BMSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|";
    text.append(day)
        .append("091400+0100||RDE^O11^RDE_O11|")
        .append(id)
        .append("|P|2.5.1\rPID|1||SM-");
    text.append(patient)
        .append("^^^SLATEMOOR^MR||||19880402|F\rAL1|1|DA|\"\"\rORC|NW|A-")
        .append(id);
    text.append("^SLATEMOOR|F-").append(id).append("^RX||||||").append(day);
    text.append(
        "091400+0100|||P-7\r"
        "RXE||testosterone-cypionate^Testosterone cypionate 200 mg/mL^L|");
    text.append(number % 10 == 0 ? "100" : "50");
    text.append(
            "||mg^^UCUM|INJ|^Inject 0.25 mL under the skin once a week"
            "|||1|VIAL|3|||||||||||||200|mg|||||||1|mL\rTQ1|1||Q1W||||")
        .append(day);
    text.append(number % 2 == 0
                    ? "\rRXR|SC^Subcutaneous^HL70162|LLAQ^Left lower abdomen^HL70163\r"
                    : "\rRXR|SC^Subcutaneous^HL70162|RLAQ^Right lower abdomen^HL70163\r");
    text.append("OBX|1|NM|29463-7^Body weight^LN||71|kg^^UCUM|||||F|||")
        .append(day)
        .append("\r\x1C\r");
    return text;
  }

  std::size_t number_ = 0;
};

/// The service of the program, on a thread of its own.
class Meniscus {
 public:
  /// `history`: where it is kept; empty: in memory.
  explicit Meniscus(const std::string& history)
      : service_(context_, options(), rules(), clock_, {}, {}, {store(history), nullptr}) {
    if (!service_.load_history()) std::exit(1);
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
  static std::unique_ptr<meniscus::adapters::KeptHistory> store(const std::string& place) {
    if (place.empty()) return nullptr;
    auto opened = meniscus::adapters::KeptHistory::open(place);
    if (opened) return std::move(*opened);
    std::fprintf(stderr, "%s\n", opened.error().message.c_str());
    std::exit(1);
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
};

double ratio(const std::vector<double>& ours, const std::vector<double>& bare) {
  std::vector<double> ratios;
  for (std::size_t i = 0; i < ours.size(); ++i)
    ratios.push_back(ours[i] / bare[i]);
  return median(ratios);
}

const char* value_after(int argc, char** argv, const char* option) {
  for (int i = 1; i + 1 < argc; ++i)
    if (std::strcmp(argv[i], option) == 0) return argv[i + 1];
  return nullptr;
}

std::size_t number_after(int argc, char** argv, const char* option, std::size_t usual) {
  const char* const value = value_after(argc, argv, option);
  return value == nullptr ? usual : std::strtoul(value, nullptr, 10);
}

/// Commits a second of a bare file: 600 bytes at its end, brought to the disk, one after the other.
double bare_commits(const std::string& path, std::size_t count) {
  const int file =
      ::open(path.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, S_IRUSR | S_IWUSR);
  const std::string bytes(600, 'x');
  const auto began = std::chrono::steady_clock::now();
  for (std::size_t i = 0; i < count; ++i) {
    if (::write(file, bytes.data(), bytes.size()) != static_cast<ssize_t>(bytes.size()) ||
        ::fdatasync(file) != 0)
      std::exit(1);
  }
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began;
  ::close(file);
  return static_cast<double>(count) / took.count();
}

/// One service or the bare server, with a feed of its own.
struct Contender {
  std::string name;
  asio::ip::tcp::endpoint endpoint;
  Feed feed{};
  Rounds rounds{};
};

void compare(std::vector<Contender>& all, std::size_t connections, std::size_t count,
             std::size_t rounds, const std::string& folder) {
  std::vector<double> commits;
  for (Contender& one : all)
    one.rounds = {};
  for (std::size_t round = 0; round < rounds; ++round) {
    commits.push_back(bare_commits(folder + "/commits", count / 10));
    for (Contender& one : all)
      one.rounds.add(send_load(one.endpoint, {connections, count}, one.feed.next(count)));
  }
  for (const Contender& one : all) {
    const Rounds& r = one.rounds;
    std::printf("%11zu  %-10s  %10.0f  %8.0f  %8.0f  %10.0f  %7.2f  %9.2f\n", connections,
                one.name.c_str(), median(r.rate), median(r.p50), median(r.p99), median(r.p999),
                ratio(r.rate, all.front().rounds.rate), ratio(r.rate, commits));
  }
}

/// Memory that a process holds, in kB (VmRSS of /proc/PID/status).
long resident(const std::string& process) {
  std::ifstream status("/proc/" + process + "/status");
  for (std::string line; std::getline(status, line);)
    if (line.starts_with("VmRSS:")) return std::strtol(line.c_str() + 6, nullptr, 10);
  return 0;
}

int load(const std::string& server, const meniscus::bench::LoadShape& all,
         const std::string& process) {
  constexpr std::size_t kPiece = 20000;
  const auto endpoint = meniscus::adapters::mllp::parse_address("--server", server);
  if (!endpoint) return 1;
  Feed feed;
  Rounds rounds;
  meniscus::bench::LoadShape piece = all;
  for (std::size_t sent = 0; sent < all.count; sent += piece.count) {
    piece.count = std::min(kPiece, all.count - sent);
    rounds.add(send_load(*endpoint, piece, feed.next(piece.count)));
    if (!process.empty() && (sent + piece.count) % 100'000 == 0)
      std::printf("%9zu messages  %8ld kB\n", sent + piece.count, resident(process));
  }
  std::printf("%.0f messages/s, p50 %.0f us, p99 %.0f us, p99.9 %.0f us\n", median(rounds.rate),
              median(rounds.p50), median(rounds.p99), median(rounds.p999));
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const meniscus::adapters::HeapPages heap;  // as the program has them
  if (const char* const server = value_after(argc, argv, "--server")) {
    const char* const process = value_after(argc, argv, "--process");
    return load(
        server,
        {number_after(argc, argv, "--connections", 16),
         number_after(argc, argv, "--messages", 20000), number_after(argc, argv, "--together", 1)},
        process == nullptr ? "" : process);
  }
  bool quick = false;
  for (int i = 1; i < argc; ++i)
    quick = quick || std::strncmp(argv[i], "--benchmark", 11) == 0;
  const std::size_t count = number_after(argc, argv, "--messages", quick ? 2000 : 20000);
  const std::size_t rounds = number_after(argc, argv, "--rounds", quick ? 1 : 5);
  const char* const database = value_after(argc, argv, "--postgresql");
  const char* const on = value_after(argc, argv, "--on");
  std::string folder = std::string(on == nullptr ? "." : on) + "/meniscus-bench-XXXXXX";
  if (::mkdtemp(folder.data()) == nullptr) return 1;
  {
    const meniscus::bench::BareServer bare;
    const Meniscus memory("");
    const Meniscus file("sqlite:" + folder + "/history.db");
    std::optional<Meniscus> shared;
    if (database != nullptr) shared.emplace("postgresql:" + std::string(database));
    std::vector<Contender> all = {
        {"bare", bare.endpoint()}, {"no history", memory.endpoint()}, {"sqlite", file.endpoint()}};
    if (shared) all.push_back({"postgresql", shared->endpoint()});
    std::printf(
        "connections  server      messages/s  p50 (us)  p99 (us)  p99.9 (us)  of bare  of "
        "commits\n");
    for (const std::size_t connections : {1, 16, 64, 256})
      compare(all, connections, count, rounds, folder);
  }
  std::filesystem::remove_all(folder);
  return 0;
}
