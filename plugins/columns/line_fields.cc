#include "columns/line_fields.h"

#include <algorithm>

#include "columns/text_lines.h"

namespace girdle::columns {

namespace {

std::string inside_character(uint64_t position) {
  return "position " + std::to_string(position) +
         " is in the middle of a character; the fields are counted in bytes";
}

std::string too_short(uint64_t positions, const LineKind& kind, const Segment& segment) {
  return "the line has " + std::to_string(positions) +
         (positions == 1 ? " position" : " positions") + ", and " + kind.names[segment.field] +
         " goes to " + std::to_string(segment.at.last) +
         "; say short: pad if spaces at the end of lines are left out";
}

// Which position the character at text[index] has.
uint64_t position_of(size_t index, std::string_view text, const Widths& widths) {
  uint64_t position = 1;
  for (size_t i = 0; i < index; i += character_size(text.substr(i))) position += widths.at(text, i);
  return position;
}

std::optional<std::string> text_in_gap(std::string_view text, const Widths& widths, size_t begin,
                                       size_t end) {
  while (begin < end && text[begin] == ' ') ++begin;
  if (begin >= end) return std::nullopt;
  return "text in no field, at position " + std::to_string(position_of(begin, text, widths)) +
         ": " + excerpt(without_outer_blanks(text.substr(begin, end - begin)));
}

}  // namespace

std::optional<std::string> LineFields::read(std::string_view text, const Widths& bytes,
                                            const LineKind& kind) {
  if (auto fault = control_fault(text)) return fault;
  const Widths widths = measure_.bytes ? bytes : Widths();
  if (text.find('\t') == std::string_view::npos) return cut(text, widths, kind);
  if (measure_.tab_stop == 0)
    return "a tab, which may be any number of positions wide; say in tabs where it stops";
  without_tabs_.make(text, widths, measure_.tab_stop);
  return cut(without_tabs_.text(), without_tabs_.widths(), kind);
}

std::optional<std::string> LineFields::cut(std::string_view text, const Widths& widths,
                                           const LineKind& kind) {
  values_.resize(kind.names.size());
  Ruler ruler(text, widths);
  size_t begin = 0;
  for (const Segment& segment : kind.segments) {
    const bool to_end = segment.at.last == kToLineEnd;
    const Ruler::Mark end =
        to_end ? Ruler::Mark{Ruler::Found::kThere, text.size()} : ruler.at(segment.at.last + 1);
    if (end.found == Ruler::Found::kInside) return inside_character(segment.at.last + 1);
    if (segment.use == Segment::Use::kField) {
      if (end.found == Ruler::Found::kBeyond && !measure_.pad)
        return too_short(ruler.size(), kind, segment);
      values_[segment.field] = value(text.substr(begin, end.index - begin));
    } else if (segment.use == Segment::Use::kGap) {
      // The beginning that tells the kind may stand in no field.
      const size_t known = std::max(begin, kind.prefix.size());
      if (auto fault = text_in_gap(text, widths, known, end.index)) return fault;
    }
    begin = end.index;
  }
  return std::nullopt;
}

std::string_view LineFields::value(std::string_view text) const {
  if (!measure_.trim) return text;
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

}  // namespace girdle::columns
