// Contract: see bare_server.hpp.
#include "tests/bench/service/bare_server.hpp"

#include <array>
#include <boost/asio.hpp>
#include <string>
#include <thread>

namespace meniscus::bench {

namespace asio = boost::asio;

namespace {
/// As long as a usual answer of ours without findings.
const std::string& answer() {
  static const std::string kAnswer =
      "\x0BMSH|^~\\&|PHARMACY|SLATEMOOR|ORDERS|SLATEMOOR|20260302091400+0100||RRE^O12^RRE_O12|"
      "20260302091400-1|P|2.5.1||||||UNICODE UTF-8\rMSA|AA|SM00001\rORC|OK|A-102|F-102\r\x1C\r";
  return kAnswer;
}

class Peer : public std::enable_shared_from_this<Peer> {
 public:
  explicit Peer(asio::ip::tcp::socket socket) : socket_(std::move(socket)) {}

  void read() {
    socket_.async_read_some(asio::buffer(bytes_),
                            [self = shared_from_this()](const auto& problem, std::size_t count) {
                              if (problem) return;
                              const bool whole = count > 1 && self->bytes_[count - 2] == '\x1C';
                              if (!whole) return self->read();
                              self->write();
                            });
  }

 private:
  void write() {
    asio::async_write(socket_, asio::buffer(answer()),
                      [self = shared_from_this()](const auto& problem, std::size_t) {
                        if (!problem) self->read();
                      });
  }

  asio::ip::tcp::socket socket_;
  std::array<char, 8192> bytes_{};
};
}  // namespace

class BareServer::Work {
 public:
  Work() : acceptor_(context_, {asio::ip::address_v4::loopback(), 0}) {
    accept();
    thread_ = std::thread([this] { context_.run(); });
  }
  ~Work() {
    context_.stop();
    thread_.join();
  }
  Work(const Work&) = delete;
  Work& operator=(const Work&) = delete;

  [[nodiscard]] asio::ip::tcp::endpoint endpoint() const { return acceptor_.local_endpoint(); }

 private:
  void accept() {
    acceptor_.async_accept([this](const auto& problem, asio::ip::tcp::socket socket) {
      if (problem) return;
      socket.set_option(asio::ip::tcp::no_delay(true));
      std::make_shared<Peer>(std::move(socket))->read();
      accept();
    });
  }

  asio::io_context context_{1};
  asio::ip::tcp::acceptor acceptor_;
  std::thread thread_;
};

BareServer::BareServer() : work_(std::make_unique<Work>()) {}
BareServer::~BareServer() = default;
asio::ip::tcp::endpoint BareServer::endpoint() const { return work_->endpoint(); }

}  // namespace meniscus::bench
