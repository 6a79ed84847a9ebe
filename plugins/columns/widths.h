// How much room each character of a text takes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace girdle::columns {

// How many bytes of UTF-8 the first character of `text` has.
inline size_t character_size(std::string_view text) {
  size_t size = 1;
  while (size < text.size() && (text[size] & 0xC0) == 0x80) ++size;
  return size;
}

// Of UTF-8 text that is not kept here.
struct Widths {
  enum class Kind {
    kOne,     // each takes one
    kUtf8,    // its bytes, as the text has them
    kListed,  // listed[i] is that of the character which begins at text[i]
  };
  Kind kind = Kind::kOne;
  std::string_view listed = {};  // as long as the text

  // Of the character that begins at text[index].
  uint64_t at(std::string_view text, size_t index) const {
    switch (kind) {
      case Kind::kOne:
        return 1;
      case Kind::kUtf8:
        return character_size(text.substr(index));
      case Kind::kListed:
        return static_cast<uint8_t>(listed[index]);
    }
    return 1;
  }
};

}  // namespace girdle::columns
