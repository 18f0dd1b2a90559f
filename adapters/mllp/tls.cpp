// Contract: see tls.hpp.
#include "adapters/mllp/tls.hpp"

#include <boost/asio/buffer.hpp>
#include <boost/asio/ssl/error.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/asio/write.hpp>
#include <ctime>
#include <fstream>
#include <utility>

namespace meniscus::adapters::mllp {

namespace asio = boost::asio;
namespace ssl = boost::asio::ssl;

namespace {
/// OpenSSL has few words for a file that is not there.
engine::Error cannot(std::string_view what, const std::string& file, const Channel::Error& why) {
  const bool readable = std::ifstream(file).good();
  return {engine::Errc::Input,
          "the " + std::string(what) + " " + file +
              (readable ? " cannot be used: " + why.message() : " cannot be read"),
          0, 0};
}

class TlsChannel final : public Channel {
 public:
  TlsChannel(Socket socket, TlsContext context)
      : context_(std::move(context)), stream_(std::move(socket), *context_) {}

  void start(Started started) override {
    stream_.async_handshake(ssl::stream_base::server, std::move(started));
  }
  void read(std::span<char> into, Done done) override {
    stream_.async_read_some(asio::buffer(into.data(), into.size()),
                            [done = std::move(done)](const Error& problem, std::size_t count) {
                              // Frames say themselves where they end; many peers just close.
                              const bool end = problem == ssl::error::stream_truncated;
                              done(end ? Error(asio::error::eof) : problem, count);
                            });
  }
  void write(std::string_view bytes, Done done) override {
    asio::async_write(stream_, asio::buffer(bytes), std::move(done));
  }
  Socket& socket() override { return stream_.next_layer(); }

 private:
  TlsContext context_;  // shared by the connections that began with it
  ssl::stream<Socket> stream_;
};
}  // namespace

engine::Result<TlsContext> load_tls(const TlsFiles& files) {
  auto context = std::make_shared<ssl::context>(ssl::context::tls_server);
  Channel::Error problem;
  context->set_options(ssl::context::no_tlsv1 | ssl::context::no_tlsv1_1 |
                           ssl::context::no_compression | SSL_OP_NO_TICKET |
                           SSL_OP_NO_RENEGOTIATION | SSL_OP_CIPHER_SERVER_PREFERENCE,
                       problem);
  SSL_CTX_set_session_cache_mode(context->native_handle(), SSL_SESS_CACHE_OFF);
  context->use_certificate_chain_file(files.certificate, problem);
  if (problem) return cannot("certificate", files.certificate, problem);
  context->use_private_key_file(files.key, ssl::context::pem, problem);
  if (problem) return cannot("key", files.key, problem);
  if (SSL_CTX_check_private_key(context->native_handle()) != 1) {
    return engine::Error{
        engine::Errc::Input,
        "the key " + files.key + " does not belong to the certificate " + files.certificate, 0, 0};
  }
  context->load_verify_file(files.client_ca, problem);
  if (problem) return cannot("authority for clients", files.client_ca, problem);
  context->set_verify_mode(ssl::verify_peer | ssl::verify_fail_if_no_peer_cert, problem);
  if (problem) return cannot("authority for clients", files.client_ca, problem);
  return context;
}

std::optional<double> certificate_end(const TlsContext& context) {
  const X509* const certificate =
      context == nullptr ? nullptr : SSL_CTX_get0_certificate(context->native_handle());
  std::tm end{};
  if (certificate == nullptr || ASN1_TIME_to_tm(X509_get0_notAfter(certificate), &end) != 1)
    return std::nullopt;
  return static_cast<double>(::timegm(&end));
}

std::unique_ptr<Channel> tls_channel(Channel::Socket socket, TlsContext context) {
  return std::make_unique<TlsChannel>(std::move(socket), std::move(context));
}

}  // namespace meniscus::adapters::mllp
