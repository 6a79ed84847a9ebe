// girdled-reader-host: a reader in a process of its own. Started by girdled, with the socket to it
// as descriptor 3; see README.md.
#include <sys/stat.h>
#include <unistd.h>

#include <charconv>
#include <cstring>
#include <iostream>
#include <optional>

#include "reader_host/document_host.h"
#include "reader_host/sandbox.h"
#include "reading/library.h"

namespace girdle::reader_host {
namespace {

namespace wire = reading::wire;

constexpr uint64_t kMaxRequest = uint64_t{1} << 30;  // girdled's, which is trusted

struct Start {
  reading::Manifest manifest;
  Limits limits;
  Setup setup;
};

std::optional<Start> read_start(const wire::Frame& frame) {
  wire::Parser parser(frame.body);
  Start start;
  if (frame.type != wire::FrameType::kStart || parser.u32() != wire::kProtocol) return std::nullopt;
  start.manifest.abi = parser.u32();
  start.manifest.name = parser.text();
  start.manifest.version = parser.text();
  start.manifest.library = std::string(parser.text());
  start.limits.memory = parser.u64();
  start.limits.cpu = std::chrono::seconds(parser.u64());
  start.setup.max_record_bytes = parser.u64();
  start.setup.max_fields = parser.u64();
  for (uint32_t left = parser.u32(); left > 0 && parser.good(); --left) {
    std::string name(parser.text());
    start.setup.options.emplace_back(std::move(name), parser.text());
  }
  if (!parser.done()) return std::nullopt;
  return start;
}

int give_up(Connection& connection, std::string_view why) {
  wire::FrameWriter(connection.out(), wire::FrameType::kCannot).text(why);
  connection.flush();
  return 1;
}

int run(int parent) {
  if (!die_with(parent)) return 0;
  Connection connection(kMaxRequest);
  auto start = read_start(connection.next());
  if (!start) {
    return give_up(connection,
                   "girdled-reader-host is of another version than girdled; install both from one "
                   "package");
  }
  const auto folder = start->manifest.library.parent_path();
  if (auto done = enter_for_loading(start->limits, folder); !done)
    return give_up(connection, done.error().text);
  auto library = reading::Library::load(start->manifest);
  if (!library) return give_up(connection, library.error().text);
  if (auto done = enter_for_reading(parent); !done) return give_up(connection, done.error().text);
  wire::put_frame(connection.out(), wire::FrameType::kReady);
  DocumentHost(connection, library->descriptor(), std::move(start->setup)).serve();
}

bool has_socket() {
  struct stat status {};
  return fstat(wire::kSocket, &status) == 0 && S_ISSOCK(status.st_mode);
}

}  // namespace
}  // namespace girdle::reader_host

int main(int argc, char** argv) {
  int parent = 0;
  if (argc == 3) std::from_chars(argv[2], argv[2] + std::strlen(argv[2]), parent);
  if (parent <= 0 || !girdle::reader_host::has_socket()) {
    std::cerr
        << "girdled-reader-host runs one reader for girdled, which starts it; it is of no use "
           "by itself.\n";
    return 2;
  }
  _exit(girdle::reader_host::run(parent));
}
