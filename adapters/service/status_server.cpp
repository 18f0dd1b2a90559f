// Contract: see status_server.hpp.
#include "adapters/service/status_server.hpp"

#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>
#include <chrono>
#include <optional>
#include <set>
#include <utility>

#include "adapters/mllp/listener.hpp"

namespace meniscus::adapters {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;

namespace {
using Error = boost::system::error_code;
using Request = http::request<http::empty_body>;
using Response = http::response<http::string_body>;

constexpr std::chrono::seconds kPatience{10};
constexpr std::size_t kLargestHead = 8192;
constexpr std::string_view kPlain = "text/plain; charset=utf-8";
constexpr std::string_view kOpenMetrics =
    "application/openmetrics-text; version=1.0.0; charset=utf-8";

Response page(const Request& request, const StatusPages& pages) {
  Response response(http::status::ok, request.version());
  response.keep_alive(request.keep_alive());
  std::string_view type = kPlain;
  std::string_view path(request.target().data(), request.target().size());
  path = path.substr(0, path.find('?'));  // a query asks for nothing here
  if (request.method() != http::verb::get) {
    response.result(http::status::method_not_allowed);
    response.set(http::field::allow, "GET");
    response.body() = "only GET is answered here\n";
  } else if (path == "/live") {
    response.body() = "live\n";
  } else if (path == "/ready") {
    const std::string why = pages.why_not_ready();
    if (!why.empty()) response.result(http::status::service_unavailable);
    response.body() = (why.empty() ? "ready" : "not ready: " + why) + "\n";
  } else if (path == "/metrics") {
    type = kOpenMetrics;
    response.body() = pages.metrics();
  } else {
    response.result(http::status::not_found);
    response.body() = "there are /live, /ready and /metrics\n";
  }
  response.set(http::field::content_type, beast::string_view(type.data(), type.size()));
  response.prepare_payload();
  return response;
}

/// One who asks.
class Peer : public std::enable_shared_from_this<Peer> {
 public:
  using Left = std::function<void(Peer*)>;
  Peer(asio::ip::tcp::socket socket, const StatusPages& pages, Left left)
      : stream_(std::move(socket)), pages_(pages), left_(std::move(left)) {}
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;
  ~Peer() {
    if (left_ != nullptr) left_(this);
  }

  /// The server is gone.
  void stay_silent() { left_ = nullptr; }
  /// Once what is being written is out.
  void close() {
    closing_ = true;
    if (!writing_) stream_.cancel();
  }

  void read() {
    parser_.emplace();
    parser_->header_limit(kLargestHead);
    parser_->body_limit(0);
    stream_.expires_after(kPatience);
    http::async_read(stream_, buffer_, *parser_,
                     [self = shared_from_this()](const Error& problem, std::size_t) {
                       if (!problem) self->write();
                     });
  }

 private:
  void write() {
    response_ = page(parser_->get(), pages_);
    if (closing_) response_.keep_alive(false);
    writing_ = true;
    http::async_write(
        stream_, response_, [self = shared_from_this()](const Error& problem, std::size_t) {
          self->writing_ = false;
          if (problem) return;
          if (self->response_.keep_alive() && !self->closing_) return self->read();
          Error ignored;
          self->stream_.socket().shutdown(asio::ip::tcp::socket::shutdown_send, ignored);
        });
  }

  beast::tcp_stream stream_;
  const StatusPages& pages_;
  Left left_;
  beast::flat_buffer buffer_{kLargestHead};
  std::optional<http::request_parser<http::empty_body>> parser_;
  Response response_;
  bool writing_ = false;
  bool closing_ = false;
};
}  // namespace

class StatusServer::Work {
 public:
  Work(asio::io_context& context, StatusPages pages)
      : pages_(std::move(pages)),
        listener_(context, {[this] { return peers_.size() < kMostPeers; },
                            [this](asio::ip::tcp::socket socket) { accepted(std::move(socket)); },
                            [](std::string_view /*why*/) {}}) {}

  ~Work() {
    for (Peer* peer : peers_)
      peer->stay_silent();
  }
  Work(const Work&) = delete;
  Work& operator=(const Work&) = delete;

  engine::Result<asio::ip::tcp::endpoint> listen(const asio::ip::tcp::endpoint& endpoint) {
    return listener_.listen(endpoint);
  }
  void stop() {
    listener_.stop();
    for (Peer* peer : peers_)
      peer->close();
  }

 private:
  void accepted(asio::ip::tcp::socket socket) {
    const auto peer = std::make_shared<Peer>(std::move(socket), pages_, [this](Peer* gone) {
      peers_.erase(gone);
      listener_.go_on();
    });
    peers_.insert(peer.get());
    peer->read();
  }

  StatusPages pages_;
  mllp::Listener listener_;
  std::set<Peer*> peers_;  // they keep themselves
};

StatusServer::StatusServer(asio::io_context& context, StatusPages pages)
    : work_(std::make_unique<Work>(context, std::move(pages))) {}
StatusServer::~StatusServer() = default;

engine::Result<asio::ip::tcp::endpoint> StatusServer::listen(
    const asio::ip::tcp::endpoint& endpoint) {
  return work_->listen(endpoint);
}

void StatusServer::stop() { work_->stop(); }

}  // namespace meniscus::adapters
