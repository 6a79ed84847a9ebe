#include "api/failed_tokens.h"

#include <algorithm>

#include "api/host_names.h"

namespace girdle::api {

uint64_t FailedTokens::key_of(const boost::asio::ip::address& peer) {
  const auto plain = plain_address(peer);
  if (plain.is_v4()) return plain.to_v4().to_uint();
  uint64_t network = 0;
  const auto bytes = plain.to_v6().to_bytes();
  for (size_t i = 0; i < 8; ++i) network = network << 8 | bytes[i];
  return ~network;  // no network there has a number that small
}

std::optional<base::Millis> FailedTokens::refused_for(const boost::asio::ip::address& peer, const base::Digest& token,
                                                      base::Millis now) const {
  const auto at = peers_.find(key_of(peer));
  if (at == peers_.end() || now - at->second.since >= kWindow) return std::nullopt;
  const auto same = std::ranges::find(at->second.shown, token, &Shown::token);
  const bool too_often = same != at->second.shown.end() && same->times >= kMost;
  if (!too_often && at->second.shown.size() < kMost) return std::nullopt;
  return kWindow - (now - at->second.since);
}

void FailedTokens::make_room(base::Millis now) {
  std::erase_if(peers_, [now](const auto& peer) { return now - peer.second.since >= kWindow; });
  if (peers_.size() < kMostAddresses) return;
  peers_.erase(std::ranges::min_element(peers_, {}, [](const auto& peer) { return peer.second.since; }));
}

void FailedTokens::add(const boost::asio::ip::address& peer, const base::Digest& token, base::Millis now) {
  const uint64_t key = key_of(peer);
  if (!peers_.contains(key) && peers_.size() >= kMostAddresses) make_room(now);
  Peer& entry = peers_[key];
  if (entry.shown.empty() || now - entry.since >= kWindow) entry = {now, {}};
  const auto same = std::ranges::find(entry.shown, token, &Shown::token);
  if (same != entry.shown.end()) {
    ++same->times;
  } else if (entry.shown.size() < kMost) {
    entry.shown.push_back({token, 1});
  }
}

}  // namespace girdle::api
