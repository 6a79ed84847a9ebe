// A process that girdled starts for a reader, with a socket to it. Nothing here blocks but the
// start (for as long as the system takes to load a program), ends_within() and the destructor.
//
// One thread, the one that started it: the process ends when that thread does.
#pragma once

#include <sys/types.h>

#include <chrono>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "reading/wire.h"

namespace girdle::reading {

// A descriptor, closed at the end of its life.
class FileDescriptor {
 public:
  FileDescriptor() = default;
  explicit FileDescriptor(int number) : number_(number) {}
  ~FileDescriptor();
  FileDescriptor(FileDescriptor&& other) noexcept : number_(other.number_) { other.number_ = -1; }
  FileDescriptor& operator=(FileDescriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  int get() const { return number_; }

 private:
  int number_ = -1;
};

class ChildProcess {
 public:
  // The program gets the socket as its descriptor 3, nothing on 0 and 1, and a pipe on 2; no other
  // descriptor, and an empty environment. Its arguments: `reader`, and girdled's process id.
  static base::Result<std::unique_ptr<ChildProcess>> start(const std::filesystem::path& program,
                                                           const std::string& reader);
  // Kills it, and takes away what is left of it; within a second.
  ~ChildProcess();
  ChildProcess(const ChildProcess&) = delete;
  ChildProcess& operator=(const ChildProcess&) = delete;

  int socket() const { return socket_.get(); }
  // Becomes readable when the process has ended.
  int end() const { return end_.get(); }
  pid_t id() const { return id_; }

  // What is to be sent; append to it.
  std::string& outgoing() { return outgoing_; }
  bool has_unsent() const { return sent_ < outgoing_.size(); }
  // Sends what goes without waiting. An end of the connection shows in receive().
  void send();
  enum class Came { kBytes, kNothing, kEnd };
  Came receive(wire::Frames& frames, size_t& size);

  void kill();
  // Waits so long.
  bool ends_within(std::chrono::milliseconds time);
  // How it ended, in words; empty while it has not.
  const std::string& how_it_ended();
  // It ended by SIGKILL, which nothing in the sandbox can send.
  bool was_killed() const { return was_killed_; }
  std::chrono::nanoseconds processor_time() const;
  // The last of what it wrote to its standard error since the last time.
  std::string take_said();

 private:
  ChildProcess(pid_t id, FileDescriptor socket, FileDescriptor end, FileDescriptor said)
      : id_(id), socket_(std::move(socket)), end_(std::move(end)), said_(std::move(said)) {}

  const pid_t id_;
  FileDescriptor socket_, end_, said_;
  std::string outgoing_;
  size_t sent_ = 0;
  std::string how_it_ended_;
  bool was_killed_ = false;
};

}  // namespace girdle::reading
