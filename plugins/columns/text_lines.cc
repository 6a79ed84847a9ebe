#include "columns/text_lines.h"

#include <algorithm>
#include <cstring>
#include <utility>

#include "delimited/row_values.h"

namespace girdle::columns {

namespace {

constexpr uint64_t kLastEncoding = static_cast<uint64_t>(Encoding::kCodePage);
constexpr size_t kShown = 40;
constexpr uint64_t kEachByte = 0x0101010101010101;

bool ends_line(char c) { return c == '\n' || c == '\r' || c == '\f'; }

// Whether one of eight bytes is less than `bound`, which is at most 128. Bytes from 128 on count as
// not less.
bool any_below(uint64_t eight, uint8_t bound) {
  return ((eight - kEachByte * bound) & ~eight & kEachByte * 0x80) != 0;
}

// Where the first line end in `text` is; its size where there is none.
size_t line_end(std::string_view text) {
  size_t at = 0;
  for (uint64_t eight; at + sizeof eight <= text.size(); at += sizeof eight) {
    std::memcpy(&eight, text.data() + at, sizeof eight);
    if (!any_below(eight, '\r' + 1)) continue;
    for (size_t i = at; i < at + sizeof eight; ++i) {
      if (ends_line(text[i])) return i;
    }
  }
  while (at < text.size() && !ends_line(text[at])) ++at;
  return at;
}

// Every byte is ASCII and none is NUL.
bool is_plain(std::string_view text) {
  return std::none_of(text.begin(), text.end(), [](char c) { return static_cast<int8_t>(c) <= 0; });
}

bool is_control(char c) { return static_cast<uint8_t>(c) < 0x20 || c == 0x7F; }

}  // namespace

TextLines::TextLines(kit::Output& out, LineTaker& taker, const TextEncoding& configured,
                     bool widths)
    : out_(out),
      taker_(taker),
      configured_(configured),
      keeps_widths_(widths),
      source_(configured_.page) {}

void TextLines::feed(std::string_view bytes) {
  fed_ += bytes.size();
  if (mode_ == Mode::kHead) {
    take_head(bytes, false);
  } else {
    take_source(bytes);
  }
  set_rest_aside(false);
}

void TextLines::finish() {
  if (mode_ == Mode::kHead) take_head({}, true);
  source_.finish([this](std::string_view text) { take(text); });
  if (mode_ == Mode::kLine || mode_ == Mode::kLong) {
    // Half a unit of UTF-16 counted as a whole one.
    line_bytes_ = std::min(line_bytes_, fed_ - begin_);
    line_ended({}, false);
  }
  set_rest_aside(true);
  begin_ = fed_;
}

void TextLines::take_head(std::string_view bytes, bool whole) {
  const size_t wanted = std::min(bytes.size(), size_t{4} - head_.size());
  head_.append(bytes.substr(0, wanted));
  const delimited::ByteOrderMark found = source_.mark(head_, whole);
  if (!found.known) return;
  begin_text(found);
  take_source(std::string_view(head_).substr(found.size));
  take_source(bytes.substr(wanted));
}

void TextLines::begin_text(const delimited::ByteOrderMark& mark) {
  source_.set(mark.size > 0 ? mark.encoding : configured_.encoding);
  const bool unmarked = source_.encoding() == Encoding::kUtf16 && !head_.empty();
  if (unmarked || source_.encoding() == Encoding::kUtf32) {
    mode_ = Mode::kRest;
    rest_reason_ = unmarked ? RestReason::kNoByteOrderMark : RestReason::kUtf32;
    return;
  }
  begin_ = mark.size;
  mode_ = Mode::kBetween;
}

void TextLines::take_source(std::string_view bytes) {
  source_.decode(
      bytes, [this] { return !out_.stopped(); }, [this](std::string_view text) { take(text); });
}

void TextLines::take(std::string_view text) {
  while (!text.empty() && !out_.stopped()) {
    switch (mode_) {
      case Mode::kBetween:
        text = before_line(text);
        break;
      case Mode::kLine:
      case Mode::kLong:
        text = in_line(text);
        break;
      case Mode::kRest:
      case Mode::kHead:
        return;
    }
  }
}

std::string_view TextLines::before_line(std::string_view text) {
  if (std::exchange(after_cr_, false) && text[0] == '\n') {
    begin_ += source_.line_end_bytes();
    return text.substr(1);
  }
  line_bytes_ = 0;
  kept_.clear();
  widths_.clear();
  mode_ = Mode::kLine;
  return text;
}

std::string_view TextLines::in_line(std::string_view text) {
  const size_t end = line_end(text);
  const size_t size = room(text.substr(0, end));
  const std::string_view part = text.substr(0, size);
  line_bytes_ += source_.source_bytes(part);
  if (source_.is_decoded() && keeps_widths_ && mode_ == Mode::kLine) keep_widths(part);
  if (size < end) {
    tell_piece();
    mode_ = Mode::kLong;
    return text.substr(size);
  }
  if (end == text.size()) {
    if (mode_ == Mode::kLine) kept_.append(part);
    return {};
  }
  line_ended(part, text[end] == '\f');
  begin_ += source_.line_end_bytes();
  after_cr_ = text[end] == '\r';
  return text.substr(end + 1);
}

// How much of `text` may still belong to the line, or to the piece of a long line, by the limit.
size_t TextLines::room(std::string_view text) const {
  return source_.within(text, out_.limit() - line_bytes_);
}

void TextLines::keep_widths(std::string_view part) {
  for (size_t i = 0; i < part.size();) {
    const size_t size = character_size(part.substr(i));
    widths_.push_back(static_cast<char>(source_.source_bytes(part.substr(i, size))));
    widths_.append(size - 1, '\0');
    i += size;
  }
}

// Of the line at hand, whose text is so long.
Widths TextLines::widths(size_t size) const {
  if (source_.upper_half() != nullptr) return {};
  if (widths_.size() != size || size == 0) return {Widths::Kind::kUtf8};
  return {Widths::Kind::kListed, widths_};
}

void TextLines::tell_piece() {
  kept_.clear();
  widths_.clear();
  taker_.take_piece({begin_, line_bytes_, number_});
  begin_ += line_bytes_;
  line_bytes_ = 0;
}

// The line's last text is there; what came in feeds before it is kept.
void TextLines::line_ended(std::string_view last_part, bool ends_page) {
  if (mode_ == Mode::kLong) {
    if (line_bytes_ > 0) tell_piece();
    taker_.end_long_line(ends_page);
  } else if (kept_.empty()) {
    tell_line(last_part, ends_page);
  } else {
    kept_.append(last_part);
    tell_line(kept_, ends_page);
  }
  begin_ += line_bytes_;
  if (!ends_page) ++number_;
  mode_ = Mode::kBetween;
}

void TextLines::tell_line(std::string_view text, bool ends_page) {
  TextLine line = {text, {}, begin_, line_bytes_, number_, widths(text.size()), ends_page};
  if (!is_plain(text)) {
    if (const auto fault = source_.fault(text)) {
      line.text = {};
      line.fault = *fault;
    } else if (source_.upper_half() != nullptr) {
      rewritten_.clear();
      delimited::append_decoded(text, *source_.upper_half(), rewritten_);
      line.text = rewritten_;
    }
  }
  taker_.take_line(line);
}

// Whole pieces as they come, so that memory and a growing document's position do not wait for its
// end.
void TextLines::set_rest_aside(bool whole) {
  if (mode_ != Mode::kRest) return;
  const std::string_view reason =
      rest_reason_ == RestReason::kUtf32
          ? "the document is in UTF-32, which is not read"
          : "no byte order mark: it must say which of the two forms of UTF-16 this is; say "
            "encoding: utf-16le or utf-16be where there is none";
  while (!out_.stopped() && begin_ < fed_) {
    const uint64_t length = std::min(fed_ - begin_, out_.limit());
    if (!whole && length < out_.limit()) return;
    out_.aside(begin_, length, number_, reason);
    begin_ += length;
    number_ = 0;
  }
}

void TextLines::save(kit::StateWriter& state) const {
  const Mode mode = mode_ == Mode::kLine ? Mode::kBetween : mode_;
  save_as(state, mode, number_, after_cr_);
}

void TextLines::save_at_line(kit::StateWriter& state, uint64_t number) const {
  save_as(state, Mode::kBetween, number, false);
}

void TextLines::save_as(kit::StateWriter& state, Mode mode, uint64_t number, bool after_cr) const {
  state.number(static_cast<uint64_t>(mode)).number(static_cast<uint64_t>(source_.encoding()));
  state.number(static_cast<uint64_t>(rest_reason_)).number(number).number(after_cr);
}

bool TextLines::resume(kit::StateParser& state, uint64_t offset) {
  mode_ = static_cast<Mode>(state.number(static_cast<uint64_t>(Mode::kRest)));
  const auto encoding = static_cast<Encoding>(state.number(kLastEncoding));
  rest_reason_ = static_cast<RestReason>(state.number(static_cast<uint64_t>(RestReason::kUtf32)));
  number_ = state.number();
  after_cr_ = state.flag();
  fed_ = begin_ = offset;
  if (!state.good() || mode_ == Mode::kHead || mode_ == Mode::kLine) return false;
  return source_.set(encoding);
}

std::optional<std::string> control_fault(std::string_view text) {
  const auto at =
      std::find_if(text.begin(), text.end(), [](char c) { return is_control(c) && c != '\t'; });
  if (at == text.end()) return std::nullopt;
  static constexpr char kDigits[] = "0123456789ABCDEF";
  return std::string("a control character (") + kDigits[*at >> 4] + kDigits[*at & 15] +
         ") in the line; printed text has none";
}

std::string excerpt(std::string_view text) {
  if (text.size() <= kShown) return '"' + std::string(text) + '"';
  size_t size = kShown;
  while (size > 0 && (text[size] & 0xC0) == 0x80) --size;
  return '"' + std::string(text.substr(0, size)) + "…\"";
}

std::string_view without_outer_blanks(std::string_view text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t'; };
  while (!text.empty() && blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && blank(text.back())) text.remove_suffix(1);
  return text;
}

}  // namespace girdle::columns
