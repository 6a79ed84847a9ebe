// Lines of a text that comes in pieces; their ends are CR LF, LF or CR (XML 1.0, 2.11).
#pragma once

#include <cstdint>
#include <string_view>

namespace girdle::xml {

class LineCounter {
 public:
  void pass(std::string_view text) {
    for (const char c : text) {
      line_ += c == '\r' || (c == '\n' && !after_cr_);
      after_cr_ = c == '\r';
    }
  }

  // On which the next character stands, 1 for the first.
  uint64_t line() const { return line_; }
  bool after_cr() const { return after_cr_; }
  void take_up(uint64_t line, bool after_cr) {
    line_ = line;
    after_cr_ = after_cr;
  }

 private:
  uint64_t line_ = 1;
  bool after_cr_ = false;
};

}  // namespace girdle::xml
