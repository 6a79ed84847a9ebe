#include "service/control_socket.h"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>

namespace girdle::service {
namespace {

using base::Result;
using base::Descriptor;

constexpr int kBacklog = 8;  // connections that wait to be accepted

}  // namespace

Result<ControlSocket> ControlSocket::beside(const std::filesystem::path& ledger) {
  ControlSocket socket;
  socket.path_ = ledger.string() + ".control";
  socket.name_ = socket.path_.filename();
  const std::filesystem::path folder = socket.path_.parent_path();
  socket.folder_ = Descriptor(::open(folder.empty() ? "." : folder.c_str(), O_PATH | O_DIRECTORY | O_CLOEXEC));
  if (!socket.folder_) return socket.error("reach the folder of", errno);
  const size_t room = sizeof(sockaddr_un{}.sun_path);
  if (("/proc/self/fd/" + std::to_string(socket.folder_.get()) + '/' + socket.name_).size() >= room) {
    return base::input_error("the name of the ledger " + ledger.string() + " is too long for a socket beside it; at most " +
                             std::to_string(room - 40) + " bytes are right");
  }
  return socket;
}

sockaddr_un ControlSocket::address() const {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::string path = "/proc/self/fd/" + std::to_string(folder_.get()) + '/' + name_;
  std::copy(path.begin(), path.end(), address.sun_path);
  return address;
}

base::Error ControlSocket::error(const std::string& doing, int number) const {
  return base::environment_error("girdled cannot " + doing + " the socket " + path_.string() + ": " +
                                 base::errno_text(number));
}

Result<void> ControlSocket::clear_place() const {
  struct stat status {};
  if (::fstatat(folder_.get(), name_.c_str(), &status, AT_SYMLINK_NOFOLLOW) != 0) {
    return errno == ENOENT ? Result<void>() : error("look at", errno);
  }
  if (!S_ISSOCK(status.st_mode)) {
    return base::input_error(path_.string() + " is no socket; move it away, girdled makes one in its place");
  }
  return ::unlinkat(folder_.get(), name_.c_str(), 0) == 0 ? Result<void>() : error("replace", errno);
}

Result<Descriptor> ControlSocket::listen() const {
  if (auto cleared = clear_place(); !cleared) return cleared.error();
  Descriptor socket(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
  if (!socket) return error("make", errno);
  // Linux gives the file the mode that the socket has, less the umask. And before listen() nobody can connect.
  ::fchmod(socket.get(), 0600);
  const sockaddr_un address = this->address();
  if (::bind(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) return error("bind", errno);
  struct stat status {};
  if (::fstatat(folder_.get(), name_.c_str(), &status, AT_SYMLINK_NOFOLLOW) != 0) return error("look at", errno);
  if (!S_ISSOCK(status.st_mode) || (status.st_mode & 0077) != 0) return error("keep others from", EPERM);
  if (::listen(socket.get(), kBacklog) != 0) return error("listen on", errno);
  return socket;
}

void ControlSocket::remove() const { ::unlinkat(folder_.get(), name_.c_str(), 0); }

Result<std::optional<Descriptor>> ControlSocket::connect(int patience_s) const {
  Descriptor socket(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0));
  if (!socket) return error("make", errno);
  const timeval patience{patience_s, 0};
  ::setsockopt(socket.get(), SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);  // of connect() too: unix(7), socket(7)
  ::setsockopt(socket.get(), SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  const sockaddr_un address = this->address();
  if (::connect(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0) {
    return std::optional<Descriptor>(std::move(socket));
  }
  if (errno == ENOENT || errno == ECONNREFUSED) return std::optional<Descriptor>();
  if (errno == EACCES || errno == EPERM) {
    return base::environment_error("the service belongs to another user: call girdled as that user, or as root (" +
                                   path_.string() + ")");
  }
  return error("reach", errno);
}

std::optional<uid_t> ControlSocket::peer_of(int socket) {
  ucred peer{};
  socklen_t size = sizeof peer;
  if (::getsockopt(socket, SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0) return std::nullopt;
  return peer.uid;
}

}  // namespace girdle::service
