// Contract: see address.hpp.
#include "adapters/mllp/address.hpp"

#include <boost/asio/ip/address.hpp>
#include <charconv>
#include <cstdint>

namespace meniscus::adapters::mllp {

namespace asio = boost::asio;

engine::Result<asio::ip::tcp::endpoint> parse_address(std::string_view option,
                                                      std::string_view text) {
  const engine::Error unclear{engine::Errc::Usage,
                              std::string(option) + " cannot be `" + std::string(text) +
                                  "`; write an address and a port, as 127.0.0.1:2575 or [::1]:2575",
                              0, 0};
  const std::size_t colon = text.rfind(':');
  if (colon == std::string_view::npos) return unclear;
  std::string_view host = text.substr(0, colon);
  const std::string_view digits = text.substr(colon + 1);
  std::uint16_t port = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), port);
  if (error != std::errc{} || end != digits.data() + digits.size()) return unclear;
  const bool brackets = host.size() > 2 && host.front() == '[' && host.back() == ']';
  if (brackets) host = host.substr(1, host.size() - 2);
  boost::system::error_code problem;
  const asio::ip::address address = asio::ip::make_address(std::string(host), problem);
  if (problem || address.is_v6() != brackets) return unclear;
  return asio::ip::tcp::endpoint(address, port);
}

std::string to_text(const asio::ip::tcp::endpoint& endpoint) {
  const std::string host = endpoint.address().to_string();
  const std::string port = std::to_string(endpoint.port());
  return endpoint.address().is_v6() ? "[" + host + "]:" + port : host + ":" + port;
}

}  // namespace meniscus::adapters::mllp
