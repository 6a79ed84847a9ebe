#include "delimited/decoder.h"

namespace girdle::delimited {

std::string_view Utf16Text::decode(std::string_view bytes) {
  text_.clear();
  decoder_.decode(bytes, text_);
  return text_;
}

std::string_view Utf16Text::finish() {
  text_.clear();
  decoder_.finish(text_);
  return text_;
}

}  // namespace girdle::delimited
