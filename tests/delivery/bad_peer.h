// A receiver of webhooks that does what a test tells it to, on a connection's bytes: mostly wrong
// things.
//
// Blocking sockets, a thread a connection: it shares nothing with the client under test. All
// members are thread-safe.
#pragma once

#include <atomic>
#include <chrono>
#include <functional>
#include <list>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

typedef struct ssl_ctx_st SSL_CTX;
typedef struct ssl_st SSL;

namespace girdle::delivery {

class BadPeer {
 public:
  struct Request {
    std::string line;                            // "POST /hook HTTP/1.1"
    std::map<std::string, std::string> headers;  // names in lower case
    std::string body;
  };

  // One accepted connection, as its script sees it.
  class Line {
   public:
    // The next request; nothing when the other side has closed.
    std::optional<Request> read_request();
    // False when the other side has closed.
    bool write(std::string_view bytes);
    void wait(std::chrono::milliseconds time);
    // Until the other side closes, or the peer is destroyed.
    void wait_for_close();
    // RST instead of FIN.
    void reset();
    // Carries bytes both ways between the other side and this port of the machine, until either
    // closes.
    void relay(uint16_t port);
    int number() const { return number_; }  // 0-based, in the order in which connections came
    BadPeer& peer() { return peer_; }

   private:
    friend class BadPeer;
    Line(BadPeer& peer, int socket, int number) : peer_(peer), socket_(socket), number_(number) {}
    bool shake_hands();
    long read_some(char* bytes, size_t size);
    bool read_more();
    bool carry(int from, int to);

    BadPeer& peer_;
    int socket_;
    int number_;
    SSL* tls_ = nullptr;
    std::string unread_;
    std::thread thread_;
  };

  // The script runs once a connection, on a thread of its own; the connection is closed when it
  // returns. With `tls`, which outlives the peer, the bytes go through TLS.
  using Script = std::function<void(Line&)>;
  explicit BadPeer(Script script, SSL_CTX* tls = nullptr);
  ~BadPeer();

  // Answers each request on a connection with what `answer` gives.
  static Script answering(std::function<std::string(const Request&)> answer);
  static Script answering(std::string answer);

  uint16_t port() const { return port_; }
  std::string url(std::string_view scheme = "http", std::string_view host = "127.0.0.1") const;
  int connections() const { return connections_; }
  std::vector<Request> requests() const;
  size_t written() const { return written_; }  // bytes that the kernel took
  std::string server_name() const;             // of the last TLS connection
  int resumed() const { return resumed_; }     // TLS connections that resumed a session

 private:
  void accept();

  Script script_;
  SSL_CTX* tls_;
  int listener_;
  uint16_t port_ = 0;
  std::atomic<bool> stopping_ = false;
  std::atomic<int> connections_ = 0;
  std::atomic<size_t> written_ = 0;
  std::atomic<int> resumed_ = 0;
  mutable std::mutex mutex_;  // guards what follows
  std::list<Line> lines_;
  std::vector<Request> requests_;
  std::string server_name_;
  std::thread acceptor_;
};

}  // namespace girdle::delivery
