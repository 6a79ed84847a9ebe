// How many are connected, and who may still be let in. On the server's thread.
#pragma once

#include <boost/asio/ip/address.hpp>
#include <cstddef>
#include <map>
#include <utility>

#include "api/limits.h"

namespace girdle::api {

class Roll {
 public:
  explicit Roll(const Limits& limits) : limits_(limits) {}

  enum class Kind : uint8_t { kServed, kRefused, kListener };

  // A place in one of the counts, for as long as it lives.
  class Seat {
   public:
    Seat() = default;
    Seat(Seat&& other) noexcept { *this = std::move(other); }
    Seat& operator=(Seat&& other) noexcept;
    ~Seat() { leave(); }
    explicit operator bool() const { return roll_ != nullptr; }
    bool is_refused() const { return kind_ == Kind::kRefused; }
    void leave();
    // It listens to events from now on: its place is free for another. Whether there is one more listener to have is
    // the feed's to say.
    void listen();

   private:
    friend class Roll;
    Seat(Roll& roll, Kind kind, boost::asio::ip::address peer) : roll_(&roll), kind_(kind), peer_(std::move(peer)) {}
    Roll* roll_ = nullptr;
    Kind kind_ = Kind::kServed;
    boost::asio::ip::address peer_;
  };

  uint64_t connected() const { return served_ + refused_ + listeners_; }
  uint64_t listeners() const { return listeners_; }
  bool is_full() const { return served_ >= limits_.connections; }
  // No seat: not even a refusal is to be had.
  Seat admit(const boost::asio::ip::address& peer);

 private:
  size_t& count_of(Kind kind);
  Limits limits_;
  size_t served_ = 0, refused_ = 0, listeners_ = 0;
  std::map<boost::asio::ip::address, size_t> peers_;  // that are not loopback
};

}  // namespace girdle::api
