// What a reader may do that costs a whole process: for readers of the tests that do it when told
// so. Each deed by its name; another name is none.
#pragma once

#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cstdlib>
#include <cstring>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

namespace girdle::misdeeds {

constexpr int kSocket = 3;  // to girdled, in the reader's own process

inline void write_all(int to, const void* bytes, size_t size) {
  const char* at = static_cast<const char*>(bytes);
  while (size > 0) {
    const ssize_t written = write(to, at, size);
    if (written <= 0) return;
    at += written;
    size -= static_cast<size_t>(written);
  }
}

// A frame's head, and as many bytes behind it as are really sent.
inline void send_frame(uint32_t told_size, uint32_t type, std::string_view body) {
  const uint32_t head[] = {told_size, type};
  write_all(kSocket, head, sizeof head);
  write_all(kSocket, body.data(), body.size());
}

inline std::vector<std::vector<char>>& leaked() {
  static std::vector<std::vector<char>> all;
  return all;
}

inline void leak(size_t megabytes) {
  for (size_t i = 0; i < megabytes; ++i) leaked().emplace_back(1 << 20, 'x');
}

inline void hang() {
  volatile bool for_ever = true;
  while (for_ever) {
  }
}

// 50 ms of processor time.
inline void work() {
  const clock_t until = clock() + CLOCKS_PER_SEC / 20;
  while (clock() < until) {
  }
}

// Plainly, and not by a report of the sanitizer.
[[gnu::no_sanitize("undefined")]] inline void crash() {
  volatile int* volatile nowhere = nullptr;
  *nowhere = 1;
}

inline void commit(std::string_view deed) {
  if (deed == "hang") hang();
  if (deed == "work") work();
  if (deed == "crash") crash();
  if (deed == "abort") std::abort();
  if (deed == "exit_0") _exit(0);
  if (deed == "exit_3") std::exit(3);
  if (deed == "throw") throw 1;
  if (deed == "leak_some") leak(16);
  if (deed == "leak_all") {
    for (;;) leak(1);
  }
  if (deed == "overflow_stack") {
    char* volatile hole = static_cast<char*>(__builtin_alloca(64 << 20));
    std::memset(hole, 1, 64 << 20);
  }
  if (deed == "read_file") open("/etc/passwd", O_RDONLY);
  if (deed == "write_file") open("girdle-was-here", O_WRONLY | O_CREAT, 0600);
  if (deed == "connect") {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(9);
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const int to = socket(AF_INET, SOCK_STREAM, 0);
    connect(to, reinterpret_cast<const sockaddr*>(&address), sizeof address);
  }
  if (deed == "fork") {
    if (fork() == 0) _exit(0);
  }
  if (deed == "exec") execl("/bin/true", "/bin/true", nullptr);
  if (deed == "thread") std::thread([] {}).join();
  if (deed == "kill_parent") kill(getppid(), SIGTERM);
  if (deed == "sleep") usleep(1000);
  if (deed == "run_data")
    mmap(nullptr, 4096, PROT_READ | PROT_WRITE | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
  if (deed == "write_much") {
    for (const std::string line(100, 'x');;) write_all(STDERR_FILENO, line.data(), line.size());
  }
  if (deed == "write_and_crash") {
    constexpr std::string_view kWords = "the\x1B lamp\n is cold";
    write_all(STDERR_FILENO, kWords.data(), kWords.size());
    std::abort();
  }
  if (deed == "write_some") {
    const std::string much(10'000, 'y');
    write_all(STDERR_FILENO, much.data(), much.size());
  }
  if (deed == "close_socket") close(kSocket);
  if (deed == "shut_socket") shutdown(kSocket, SHUT_RDWR);
  if (deed == "send_garbage") {
    for (uint32_t word = 1;; word = word * 1664525 + 1013904223) write_all(kSocket, &word, 4);
  }
  if (deed == "send_large_size") send_frame(0xFFFFFFFF, 20, "abc");
  if (deed == "send_part") {
    send_frame(1000, 20, "abc");
    hang();
  }
  if (deed == "send_other_type") send_frame(0, 99, "");
  if (deed == "send_answers") send_frame(12, 21, std::string(12, '\0'));
  if (deed == "send_done") send_frame(20, 22, std::string(20, '\0'));
  if (deed == "send_half_records") send_frame(5, 20, std::string(5, '\1'));
  if (deed == "send_without_end") {
    send_frame(0, 18, "");
    for (;;) send_frame(0, 20, "");
  }
}

}  // namespace girdle::misdeeds
