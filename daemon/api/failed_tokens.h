// Who shows wrong tokens, by address: how often is bounded. Pure; time is an argument.
#pragma once

#include <boost/asio/ip/address.hpp>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "base/clock.h"
#include "base/digest.h"

namespace girdle::api {

// What is counted are different wrong tokens. A till whose token was revoked goes on showing that one for days; it must
// not shut out the others behind its address, and it guesses nothing. So ten different ones in a minute refuse all that
// the address shows, and ten times the same one refuse that one.
class FailedTokens {
 public:
  static constexpr size_t kMost = 10;
  static constexpr base::Millis kWindow{60'000};
  static constexpr size_t kMostAddresses = 1'000;  // the oldest goes

  // How long this token, from this address, is refused yet without being looked at: a right one too. If right ones
  // passed, one could go on guessing, and the limit would be none. Sessions are not asked here: who has signed in
  // stays.
  std::optional<base::Millis> refused_for(const boost::asio::ip::address& peer, const base::Digest& token,
                                          base::Millis now) const;
  void add(const boost::asio::ip::address& peer, const base::Digest& token, base::Millis now);
  size_t size() const { return peers_.size(); }

 private:
  struct Shown {
    base::Digest token;
    size_t times = 0;
  };
  struct Peer {
    base::Millis since{};  // of the first
    std::vector<Shown> shown;
  };
  // Of IPv6 the network: a host there has as many addresses as it likes (RFC 8981).
  static uint64_t key_of(const boost::asio::ip::address& peer);
  void make_room(base::Millis now);

  std::map<uint64_t, Peer> peers_;
};

}  // namespace girdle::api
