// A seccomp filter, put together as a list of system calls that may be made; those that are asked
// in vain; all others end the process.
#pragma once

#include <linux/filter.h>

#include <cstdint>
#include <initializer_list>
#include <vector>

namespace girdle::reader_host {

class Filter {
 public:
  // A condition on an argument, by its low 32 bits: descriptors, flags and process ids have no
  // more.
  struct Argument {
    unsigned number;  // from 0
    uint32_t mask;
    uint32_t value;  // argument & mask == value
  };

  Filter();

  // All of the arguments' conditions hold. One that has no such permission falls through to the
  // next of the same number.
  void allow(long call, std::initializer_list<Argument> arguments = {});
  // EPERM: for what libraries ask without need of an answer.
  void refuse(long call);

  // For this thread, from now on; 0 or an errno value.
  int install();

 private:
  void append(uint16_t code, uint32_t operand, uint8_t if_true = 0, uint8_t if_false = 0);
  std::vector<sock_filter> program_;
};

}  // namespace girdle::reader_host
