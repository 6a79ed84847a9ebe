// A client that sends what it likes: for tests of the server.
#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

typedef struct ssl_st SSL;
typedef struct ssl_ctx_st SSL_CTX;

namespace girdle::api {

struct Got {
  int status = 0;
  std::map<std::string, std::string> fields;  // names in small letters; of several the last
  std::string body;

  const std::string& field(const std::string& name) const;
};

// One connection to a port of 127.0.0.1. No call waits for more than ten seconds.
class Talk {
 public:
  explicit Talk(uint16_t port);
  // Through TLS; see tls_version().
  Talk(uint16_t port, SSL_CTX* tls);
  ~Talk();
  Talk(const Talk&) = delete;

  bool connected() const { return socket_ >= 0; }
  // The version of TLS that was agreed on, or nothing.
  std::string tls_version() const;
  std::string protocol() const;  // by ALPN

  // False: the server has closed, or takes no more within `most`.
  bool send(std::string_view bytes, std::chrono::milliseconds most = std::chrono::seconds(10));
  // The next answer. Nothing: it closed, or nothing came.
  std::optional<Got> answer(bool to_head = false);
  // Reads until this stands in what came; all of it up to there, or nothing.
  std::optional<std::string> until(std::string_view mark, std::chrono::milliseconds most = std::chrono::seconds(10));
  // The server closes within that time; what it sends before is dropped.
  bool closes(std::chrono::milliseconds within = std::chrono::seconds(10));

  void close();
  void finish();       // sends no more
  void reset();        // RST in place of FIN
  void take_little();  // the smallest buffer for what comes; before anything comes

 private:
  bool read_more(std::chrono::steady_clock::time_point until);
  int socket_ = -1;
  SSL* tls_ = nullptr;
  bool ended_ = false;
  std::string unread_;
};

}  // namespace girdle::api
