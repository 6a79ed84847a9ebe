// Finds where one JSON value ends, piece by piece, without asking whether it is valid: a string at
// its closing quote, an object or array at the bracket that brings the depth back to none (either
// kind of bracket), anything else before the next mark or white space.
#pragma once

#include <cstddef>
#include <cstdint>

namespace girdle::json {

inline bool is_space(char c) { return c == ' ' || c == '\n' || c == '\r' || c == '\t'; }

// Whether a number or literal before it ends here.
bool ends_scalar(char c);

class ValueScanner {
 public:
  // What decides where the value ends; enough to go on in another scanner.
  struct Place {
    uint64_t depth = 0;
    bool in_string = false;
    bool escaped = false;    // the next byte of the string follows a backslash
    bool is_scalar = false;  // neither string nor brackets
  };

  // `first` is the value's first byte; it is still to be passed to advance.
  void begin(char first);
  void take_up(const Place& place) { place_ = place; }
  const Place& place() const { return place_; }

  // Looks at the next bytes. The number of those that belong to the value; less than `size`, or the
  // value complete, where ended() is true.
  size_t advance(const char* bytes, size_t size);
  bool ended() const { return ended_; }

 private:
  size_t scalar(const char* bytes, size_t size);

  Place place_;
  bool ended_ = false;
};

}  // namespace girdle::json
