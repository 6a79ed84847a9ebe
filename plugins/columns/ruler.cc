#include "columns/ruler.h"

#include <algorithm>

namespace girdle::columns {

namespace {

bool is_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return static_cast<int8_t>(c) >= 0; });
}

}  // namespace

void WithoutTabs::make(std::string_view text, const Widths& widths, uint64_t stop) {
  text_.clear();
  listed_.clear();
  all_one_ = widths.kind == Widths::Kind::kOne;
  uint64_t before = 0;
  for (size_t i = 0; i < text.size();) {
    const size_t size = character_size(text.substr(i));
    if (text[i] == '\t') {
      const uint64_t spaces = stop - before % stop;
      text_.append(spaces, ' ');
      listed_.append(spaces, '\1');
      before += spaces;
    } else {
      const uint64_t width = widths.at(text, i);
      text_.append(text.substr(i, size));
      listed_.push_back(static_cast<char>(width));
      listed_.append(size - 1, '\0');
      before += width;
    }
    i += size;
  }
}

Widths WithoutTabs::widths() const {
  return all_one_ ? Widths() : Widths{Widths::Kind::kListed, listed_};
}

Ruler::Ruler(std::string_view text, const Widths& widths)
    : text_(text),
      widths_(widths),
      plain_(widths.kind != Widths::Kind::kListed && is_ascii(text)) {}

Ruler::Mark Ruler::at(uint64_t position) {
  if (plain_) {
    const bool there = position - 1 <= text_.size();
    return {there ? Found::kThere : Found::kBeyond, there ? position - 1 : text_.size()};
  }
  while (position_ < position && index_ < text_.size()) step();
  if (position_ > position) return {Found::kInside, index_};
  return {position_ == position ? Found::kThere : Found::kBeyond, index_};
}

uint64_t Ruler::size() {
  if (plain_) return text_.size();
  while (index_ < text_.size()) step();
  return position_ - 1;
}

void Ruler::step() {
  position_ += widths_.at(text_, index_);
  index_ += character_size(text_.substr(index_));
}

}  // namespace girdle::columns
