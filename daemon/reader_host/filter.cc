#include "reader_host/filter.h"

#include <linux/audit.h>
#include <linux/seccomp.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <bit>
#include <cerrno>
#include <cstddef>

namespace girdle::reader_host {
namespace {

#if defined(__x86_64__)
constexpr uint32_t kArchitecture = AUDIT_ARCH_X86_64;
#elif defined(__aarch64__)
constexpr uint32_t kArchitecture = AUDIT_ARCH_AARCH64;
#elif defined(__riscv) && __riscv_xlen == 64
constexpr uint32_t kArchitecture = AUDIT_ARCH_RISCV64;
#else
#error "tell here the architecture's name in the kernel's audit numbers"
#endif

constexpr uint16_t kLoad = BPF_LD | BPF_W | BPF_ABS;
constexpr uint16_t kEquals = BPF_JMP | BPF_JEQ | BPF_K;
constexpr uint16_t kAtLeast = BPF_JMP | BPF_JGE | BPF_K;
constexpr uint16_t kAnd = BPF_ALU | BPF_AND | BPF_K;
constexpr uint16_t kReturn = BPF_RET | BPF_K;
constexpr uint32_t kCallNumber = offsetof(seccomp_data, nr);
// Numbers from here on are another ABI's, with the same architecture (x32 on x86-64).
constexpr uint32_t kOtherAbi = 0x40000000;

constexpr uint32_t low_half(unsigned argument) {
  constexpr uint32_t kLow = std::endian::native == std::endian::little ? 0 : 4;
  return static_cast<uint32_t>(offsetof(seccomp_data, args)) + 8 * argument + kLow;
}

}  // namespace

Filter::Filter() {
  append(kLoad, offsetof(seccomp_data, arch));
  append(kEquals, kArchitecture, 1, 0);
  append(kReturn, SECCOMP_RET_KILL_PROCESS);
  append(kLoad, kCallNumber);
  append(kAtLeast, kOtherAbi, 0, 1);
  append(kReturn, SECCOMP_RET_KILL_PROCESS);
}

void Filter::append(uint16_t code, uint32_t operand, uint8_t if_true, uint8_t if_false) {
  program_.push_back({code, if_true, if_false, operand});
}

// The number of the call is loaded before each of these blocks, and after it.
void Filter::allow(long call, std::initializer_list<Argument> arguments) {
  const auto block = static_cast<uint8_t>(arguments.size() * 3 + 1);
  const auto reload = static_cast<uint8_t>(arguments.size() > 0 ? 1 : 0);
  append(kEquals, static_cast<uint32_t>(call), 0, static_cast<uint8_t>(block + reload));
  uint8_t left = block;
  for (const Argument& argument : arguments) {
    left = static_cast<uint8_t>(left - 3);
    append(kLoad, low_half(argument.number));
    append(kAnd, argument.mask);
    append(kEquals, argument.value, 0, left);
  }
  append(kReturn, SECCOMP_RET_ALLOW);
  if (reload == 1) append(kLoad, kCallNumber);
}

void Filter::refuse(long call) {
  append(kEquals, static_cast<uint32_t>(call), 0, 1);
  append(kReturn, SECCOMP_RET_ERRNO | EPERM);
}

int Filter::install() {
  std::vector<sock_filter> program = program_;
  program.push_back({kReturn, 0, 0, SECCOMP_RET_TRAP});
  const sock_fprog whole{static_cast<unsigned short>(program.size()), program.data()};
  return syscall(SYS_seccomp, SECCOMP_SET_MODE_FILTER, 0, &whole) == 0 ? 0 : errno;
}

}  // namespace girdle::reader_host
