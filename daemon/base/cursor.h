// Walks over the text of a time; every take_ takes all that it asks for, or says no.
#pragma once

#include <cstdint>
#include <string_view>

namespace girdle::base {

class Cursor {
 public:
  explicit Cursor(std::string_view text) : at_(text.data()), end_(text.data() + text.size()) {}

  bool done() const { return at_ == end_; }
  // '\0' at the end; a text may hold one too.
  char peek() const { return done() ? '\0' : *at_; }
  std::string_view rest() const { return {at_, static_cast<size_t>(end_ - at_)}; }
  // At most what is left.
  void skip(size_t count) { at_ += count; }

  bool take(char c) {
    if (done() || *at_ != c) return false;
    ++at_;
    return true;
  }

  // From `least` to `most` ASCII digits.
  bool take_digits(int least, int most, int64_t& value) {
    int64_t result = 0;
    int count = 0;
    for (; count < most && digit_follows(); ++count) result = result * 10 + (*at_++ - '0');
    value = result;
    return count >= least;
  }

  // Digits after the point; those past the millisecond are dropped.
  bool take_fraction(int64_t& millis) {
    int count = 0;
    millis = 0;
    for (; digit_follows(); ++at_, ++count) {
      if (count < 3) millis = millis * 10 + (*at_ - '0');
    }
    for (int n = count; n < 3; ++n) millis *= 10;
    return count > 0;
  }

  // "+01:00", "-0530", "Z"; seconds east.
  bool take_offset(int64_t& seconds) {
    if (take('Z') || take('z')) {
      seconds = 0;
      return true;
    }
    const bool minus = peek() == '-';
    if (!take('+') && !take('-')) return false;
    int64_t hours, minutes;
    if (!take_digits(2, 2, hours)) return false;
    take(':');
    if (!take_digits(2, 2, minutes) || hours > 23 || minutes > 59) return false;
    seconds = (hours * 60 + minutes) * (minus ? -60 : 60);
    return true;
  }

 private:
  bool digit_follows() const { return !done() && *at_ >= '0' && *at_ <= '9'; }

  const char* at_;
  const char* end_;
};

}  // namespace girdle::base
