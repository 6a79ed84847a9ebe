// The HTTP server: listens, guards, knows who asks, and hands requests to the routes.
//
// One thread of its own for sockets and deeds, two that read the ledger. Every connection, header, body and wait has a
// bound; past it the newest is refused, and nothing of the service's own work waits for a browser.
#pragma once

#include <atomic>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "api/desk.h"
#include "api/feed.h"
#include "api/meters.h"
#include "base/clock.h"
#include "base/log.h"
#include "base/result.h"

namespace girdle::api {

struct ServerSettings {
  std::string host;                                  // an address, or `localhost`
  uint16_t port = 0;                                 // 0: any that is free (tests)
  std::filesystem::path certificate_file, key_file;  // PEM; empty: plain HTTP, for a loopback address only
  std::vector<std::string> hosts;  // names by which it may be called, besides the address and those of the certificate

  bool operator==(const ServerSettings&) const = default;
};

struct Limits;
struct Offer;

class Server {
 public:
  struct Parts {
    Desk& desk;
    const Meters& meters;
    // Written by the server: whether anybody listens to events, so that what there is to publish need be gathered.
    std::atomic<bool>& heard;
    const base::Clock& clock;
    base::Log log;
  };

  // Binds the port. Errors: the address is taken or is none of this machine; a certificate or key cannot be read, or do
  // not belong together; plain HTTP on an address that is not loopback.
  static base::Result<std::unique_ptr<Server>> create(const ServerSettings& settings, const Parts& parts);
  // With another offer than the program's own, and other bounds: tests.
  static base::Result<std::unique_ptr<Server>> create(const ServerSettings& settings, const Parts& parts, Offer offer,
                                                      const Limits& limits);
  ~Server();

  void start();
  // Ends all connections and threads, within two seconds. Once.
  void stop();
  // What a commit changed; from any thread, at once.
  void publish(Happening happening);
  uint16_t port() const;

 private:
  struct State;
  explicit Server(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace girdle::api
