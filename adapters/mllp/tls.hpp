// TLS for connections, with certificates on both sides.
//
// Peers:    must show a certificate that the named authority signed; who shows none is refused
//           before the first message.
// Versions: TLS 1.2 and 1.3; no sessions are resumed, so that a change of certificates holds for
//           every new connection.
// Source:   OpenSSL 3.0, SSL_CTX_set_verify(3), SSL_CTX_set_options(3).
#pragma once

#include <boost/asio/ssl/context.hpp>
#include <memory>
#include <optional>
#include <string>

#include "adapters/mllp/channel.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters::mllp {

/// PEM files.
struct TlsFiles {
  std::string certificate;  // of the service, with those between it and its authority
  std::string key;          // of the service
  std::string client_ca;    // authorities that sign the peers' certificates
};

using TlsContext = std::shared_ptr<boost::asio::ssl::context>;

/// Errors: Input, one sentence that names the file.
engine::Result<TlsContext> load_tls(const TlsFiles& files);

/// When the service's certificate ends, seconds since 1970-01-01 UTC.
std::optional<double> certificate_end(const TlsContext& context);

std::unique_ptr<Channel> tls_channel(Channel::Socket socket, TlsContext context);

}  // namespace meniscus::adapters::mllp
