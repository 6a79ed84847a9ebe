// Takes apart what a terminal in the mode INPCK|PARMRK gives (termios(3)): FF FF is a byte FF; FF
// 00 x is a byte x that came with a parity or framing error, or, where x is 0, a break. Pure; marks
// may be split over reads.
#pragma once

#include <string_view>

#include "intake/line_desk.h"

namespace girdle::intake {

class ParityMarks {
 public:
  void feed(std::string_view raw, LineDesk& desk);
  // The line was opened anew.
  void reset() { state_ = State::kPlain; }

 private:
  enum class State { kPlain, kAfterFf, kAfterFf00 };
  State state_ = State::kPlain;
};

}  // namespace girdle::intake
