// Where to listen, as people write it: 127.0.0.1:2575 or [::1]:2575.
#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::adapters::mllp {

/// Numbers only: a name could come to mean another machine.  Port 0: any free one.
/// Errors: Usage, one sentence that begins with the option.
engine::Result<boost::asio::ip::tcp::endpoint> parse_address(std::string_view option,
                                                             std::string_view text);

std::string to_text(const boost::asio::ip::tcp::endpoint& endpoint);

}  // namespace meniscus::adapters::mllp
