#include "api/roll.h"

#include "api/host_names.h"

namespace girdle::api {

Roll::Seat& Roll::Seat::operator=(Seat&& other) noexcept {
  leave();
  roll_ = std::exchange(other.roll_, nullptr);
  kind_ = other.kind_;
  peer_ = std::move(other.peer_);
  return *this;
}

size_t& Roll::count_of(Kind kind) {
  switch (kind) {
    case Kind::kServed: break;
    case Kind::kRefused: return refused_;
    case Kind::kListener: return listeners_;
  }
  return served_;
}

void Roll::Seat::leave() {
  if (roll_ == nullptr) return;
  Roll& roll = *std::exchange(roll_, nullptr);
  --roll.count_of(kind_);
  const auto at = roll.peers_.find(peer_);
  if (at != roll.peers_.end() && --at->second == 0) roll.peers_.erase(at);
}

void Roll::Seat::listen() {
  if (roll_ == nullptr) return;
  --roll_->count_of(kind_);
  kind_ = Kind::kListener;
  ++roll_->count_of(kind_);
}

Roll::Seat Roll::admit(const boost::asio::ip::address& peer) {
  const auto plain = plain_address(peer);
  if (!plain.is_loopback()) {
    const auto at = peers_.find(plain);
    if (at != peers_.end() && at->second >= limits_.per_peer) return {};
  }
  const Kind kind = is_full() ? Kind::kRefused : Kind::kServed;
  if (kind == Kind::kRefused && refused_ >= limits_.refused) return {};
  if (!plain.is_loopback()) ++peers_[plain];
  ++count_of(kind);
  return {*this, kind, plain};
}

}  // namespace girdle::api
