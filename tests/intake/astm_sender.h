// A sender after ASTM E1381, as the standard's sender is told by open libraries: it asks with ENQ,
// sends a frame and waits for the answer, repeats it at NAK, at most six times, and ends with EOT.
// Over a terminal or a TCP connection. Whoever tests a sender that misbehaves says send() himself.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "framing/astm_recorder.h"
#include "loop.h"
#include "peer.h"
#include "temp_folder.h"
#include "terminal.h"

namespace girdle::intake {

inline constexpr char kStx = '\x02', kEtx = '\x03', kEtb = '\x17';
inline const std::string kEnq = "\x05", kEot = "\x04", kAck = "\x06", kNak = "\x15";

// The instrument's end of a line.
class Wire {
 public:
  virtual ~Wire() = default;
  virtual void send(std::string_view bytes) = 0;
  virtual std::string received() = 0;
  // The line is lost.
  virtual void hang_up() = 0;
  // True once the program's end is there (again).
  virtual bool is_connected() = 0;
  virtual void configure(config::Intake& settings, const config::Framing& framing) = 0;
};

class SerialWire final : public Wire {
 public:
  void send(std::string_view bytes) override { terminal_.send(bytes); }
  std::string received() override { return terminal_.received(); }
  void hang_up() override {
    terminal_.unplug();
    terminal_.plug_in();
  }
  bool is_connected() override { return true; }
  void configure(config::Intake& settings, const config::Framing& framing) override {
    terminal_.name(folder_ / "by-id");
    config::SerialIntake serial;
    serial.device = folder_ / "by-id";
    serial.framing = framing;
    settings.source = serial;
  }

 private:
  TempFolder folder_;
  Terminal terminal_;
};

class TcpWire final : public Wire {
 public:
  void send(std::string_view bytes) override { peer_.send(bytes); }
  std::string received() override { return peer_.received(); }
  void hang_up() override {
    peer_.hang_up();
    is_connected_ = false;
  }
  bool is_connected() override { return is_connected_ || (is_connected_ = peer_.accept()); }
  void configure(config::Intake& settings, const config::Framing& framing) override {
    config::TcpIntake tcp;
    tcp.host = "127.0.0.1";
    tcp.port = peer_.port();
    tcp.framing = framing;
    settings.source = tcp;
  }

 private:
  Peer peer_;
  bool is_connected_ = false;
};

class AstmSender {
 public:
  static constexpr int kTries = 6;

  AstmSender(Loop& loop, Wire& wire) : loop_(loop), wire_(wire) {}

  void send(std::string_view bytes) { wire_.send(bytes); }
  // The next byte that comes back; empty when none came in time.
  std::string answer() {
    loop_.until([&] { return !(came_ += wire_.received()).empty(); });
    const std::string first = came_.substr(0, 1);
    came_.erase(0, first.size());
    return first;
  }
  // All that comes back within a while.
  std::string within(std::chrono::milliseconds time) {
    loop_.run_for(time);
    came_ += wire_.received();
    return std::exchange(came_, {});
  }

  bool enquire() {
    number_ = 0;
    send(kEnq);
    return answer() == kAck;
  }
  // The frame with the next number.
  std::string next_frame(std::string_view text, char end = kEtx) {
    number_ = (number_ + 1) % 8;
    return framing::astm_frame(number_, text, end);
  }
  // True once it was acknowledged.
  bool deliver(const std::string& frame) {
    for (int tries = 0; tries < kTries; ++tries) {
      send(frame);
      if (answer() == kAck) return true;
    }
    return false;
  }
  bool deliver_text(std::string_view text, char end = kEtx) {
    return deliver(next_frame(text, end));
  }
  // A whole session; false as soon as something was not acknowledged.
  bool deliver_all(const std::vector<std::string>& texts) {
    if (!enquire()) return false;
    for (const std::string& text : texts) {
      if (!deliver_text(text)) return false;
    }
    send(kEot);
    return true;
  }
  int number() const { return number_; }

 private:
  Loop& loop_;
  Wire& wire_;
  std::string came_;
  int number_ = 0;
};

}  // namespace girdle::intake
