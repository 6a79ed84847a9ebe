// The socket beside a ledger by which a person reaches the service that has it open: where it is, who may use it.
#pragma once

#include <sys/types.h>
#include <sys/un.h>

#include <filesystem>
#include <optional>
#include <string>

#include "base/descriptor.h"
#include "base/result.h"

namespace girdle::service {

// "<ledger>.control". It is reached through its folder, held open: a socket's address has 108 bytes, and a path may have
// more.
class ControlSocket {
 public:
  static base::Result<ControlSocket> beside(const std::filesystem::path& ledger);

  const std::filesystem::path& path() const { return path_; }
  // Binds and listens. Only this user, and root, may connect, from the first moment on. What a service that died left is
  // replaced: the lock of the ledger, which the caller holds, tells that no other lives. Returns a descriptor that does
  // not block.
  base::Result<base::Descriptor> listen() const;
  // Only by whoever listens, while the ledger's lock is held.
  void remove() const;
  // Blocks for at most so long. Nothing when nobody listens there.
  base::Result<std::optional<base::Descriptor>> connect(int patience_s) const;
  // Who holds the other end; nothing when the kernel does not say.
  static std::optional<uid_t> peer_of(int socket);

 private:
  ControlSocket() = default;
  sockaddr_un address() const;
  base::Error error(const std::string& doing, int number) const;
  base::Result<void> clear_place() const;

  std::filesystem::path path_;
  std::string name_;
  base::Descriptor folder_;
};

}  // namespace girdle::service
