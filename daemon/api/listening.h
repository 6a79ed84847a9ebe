// The sockets that the server listens at.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdint>
#include <string>
#include <vector>

#include "base/result.h"

namespace girdle::api {

// At one address; `localhost` is 127.0.0.1 and, where there is one, ::1. Port 0: the same free one for all.
// Errors: the address is taken, or is none of this machine; without TLS, it is no loopback address.
base::Result<std::vector<boost::asio::ip::tcp::acceptor>> listen_at(boost::asio::io_context& context,
                                                                    const std::string& host, uint16_t port, bool tls);

}  // namespace girdle::api
