// What this process has: children, descriptors, memory; as /proc tells it (proc(5)).
#pragma once

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace girdle::reading {

struct Child {
  pid_t id = 0;
  char state = '?';  // 'Z': ended, and nobody has asked how
};

// Empty where there is no such process.
inline std::vector<std::string> stat_of(const std::string& id) {
  // It may go while it is read, which a stream's iterator would throw.
  std::ostringstream read;
  read << std::ifstream("/proc/" + id + "/stat").rdbuf();
  const std::string text = std::move(read).str();
  // The name, in parentheses, may hold anything.
  const size_t end = text.rfind(')');
  if (end == std::string::npos) return {};
  std::istringstream fields(text.substr(end + 1));
  return {std::istream_iterator<std::string>(fields), {}};
}

inline std::vector<Child> children() {
  std::vector<Child> out;
  for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
    const std::string name = entry.path().filename();
    if (name.find_first_not_of("0123456789") != std::string::npos) continue;
    const auto fields = stat_of(name);
    if (fields.size() > 2 && fields[1] == std::to_string(getpid()))
      out.push_back({static_cast<pid_t>(std::stol(name)), fields[0][0]});
  }
  return out;
}

inline size_t descriptors() {
  size_t count = 0;
  for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator("/proc/self/fd"))
    ++count;
  return count;
}

// The most resident memory since forget_peak(), in MiB.
inline void forget_peak() { std::ofstream("/proc/self/clear_refs") << 5; }
inline size_t peak() {
  std::ifstream file("/proc/self/status");
  for (std::string word; file >> word;) {
    size_t kib = 0;
    if (word == "VmHWM:" && file >> kib) return kib / 1024;
  }
  return 0;
}

}  // namespace girdle::reading
