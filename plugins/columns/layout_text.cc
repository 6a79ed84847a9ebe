#include "columns/layout_text.h"

#include <algorithm>
#include <charconv>
#include <utility>

namespace girdle::columns {

namespace {

constexpr std::string_view kBlanks = " \t\r\n";
constexpr std::string_view kCarried = "carried";

std::string_view trimmed(std::string_view text) {
  text.remove_prefix(std::min(text.find_first_not_of(kBlanks), text.size()));
  return text.substr(0, text.find_last_not_of(kBlanks) + 1);
}

bool is_control(char c) { return static_cast<uint8_t>(c) < 0x20 || c == 0x7F; }

bool goes_on(std::string_view part) { return part.ends_with(',') || part.ends_with(':'); }

// Takes what stands before the next `mark` outside quotes, and the mark, off the front of `text`. A
// line end is as good as the mark ';', unless a comma or colon before it says that more follows.
std::string_view take_until(std::string_view& text, char mark) {
  bool inside = false;
  size_t end = 0;
  for (; end < text.size(); ++end) {
    if (text[end] == '\'') inside = !inside;
    if (text[end] == mark && !inside) break;
    if (mark == ';' && text[end] == '\n' && !goes_on(trimmed(text.substr(0, end)))) break;
  }
  const std::string_view part = text.substr(0, end);
  text.remove_prefix(std::min(end + 1, text.size()));
  return trimmed(part);
}

// Takes a text in single quotes off the front of `rest`; a quote in it is doubled. Nothing where
// there is none, or where it is empty or not closed.
std::optional<std::string> take_quoted(std::string_view& rest) {
  if (!rest.starts_with('\'')) return std::nullopt;
  std::string text;
  for (size_t i = 1; i < rest.size(); ++i) {
    if (rest[i] == '\'' && (i + 1 == rest.size() || rest[i + 1] != '\'')) {
      rest = trimmed(rest.substr(i + 1));
      return text.empty() ? std::nullopt : std::optional(text);
    }
    if (rest[i] == '\'') ++i;
    text.push_back(rest[i]);
  }
  return std::nullopt;
}

bool read_number(std::string_view text, uint64_t& out) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  return error == std::errc() && end == text.data() + text.size();
}

// "5", "5-9", "5-".
std::optional<Range> read_range(std::string_view text, uint64_t longest) {
  Range at;
  const size_t dash = std::min(text.find('-'), text.size());
  if (!read_number(text.substr(0, dash), at.first)) return std::nullopt;
  const std::string_view last = text.substr(std::min(dash + 1, text.size()));
  if (dash == text.size()) {
    at.last = at.first;
  } else if (last.empty()) {
    at.last = kToLineEnd;
  } else if (!read_number(last, at.last) || at.last > longest) {
    return std::nullopt;
  }
  const bool right = at.first >= 1 && at.first <= longest && at.first <= at.last;
  return right ? std::optional(at) : std::nullopt;
}

}  // namespace

std::optional<std::vector<LineKind>> LayoutText::kinds(std::string_view fields) {
  std::vector<LineKind> kinds;
  while (!fields.empty()) {
    const std::string_view text = take_until(fields, ';');
    if (text.empty()) continue;
    if (!read_kind(text, kinds.emplace_back())) return std::nullopt;
  }
  return kinds;
}

std::optional<std::vector<std::string>> LayoutText::prefixes(std::string_view ignore) {
  std::vector<std::string> prefixes;
  for (ignore = trimmed(ignore); !ignore.empty(); ignore = trimmed(ignore)) {
    const std::optional<std::string> prefix = take_quoted(ignore);
    if (!prefix || !(ignore.empty() || ignore.starts_with(','))) {
      refuse(
          "ignore: must be beginnings of lines in single quotes, with commas between: '#', 'Page "
          "'");
      return std::nullopt;
    }
    ignore.remove_prefix(ignore.empty() ? 0 : 1);
    prefixes.push_back(*prefix);
  }
  return prefixes;
}

bool LayoutText::read_kind(std::string_view text, LineKind& kind) {
  if (text.starts_with('\'') && !read_prefix(text, kind)) return false;
  do {
    if (!read_field(take_until(text, ','), kind)) return false;
  } while (!text.empty());
  if (kind.names.empty()) {
    return refuse("fields: no field in " + kind.title() +
                  "; if such lines are no results, name them in ignore");
  }
  return fill_gaps(kind);
}

// The beginning, perhaps "carried", and the colon; `text` is what follows.
bool LayoutText::read_prefix(std::string_view& text, LineKind& kind) {
  const std::optional<std::string> prefix = take_quoted(text);
  if (!prefix || std::any_of(prefix->begin(), prefix->end(), is_control)) {
    return refuse("fields: the beginning of a kind of line must stand in single quotes: 'H'");
  }
  kind.prefix = *prefix;
  if (text.starts_with(kCarried)) {
    kind.carried = true;
    text = trimmed(text.substr(kCarried.size()));
  }
  if (!text.starts_with(':')) {
    return refuse("fields: behind " + kind.title() +
                  " must stand a colon and its fields, or the word carried and those");
  }
  text = trimmed(text.substr(1));
  return true;
}

// The last word is the range, what is before it the name.
bool LayoutText::read_field(std::string_view text, LineKind& kind) {
  const size_t word = text.find_last_of(kBlanks) + 1;  // 0 where there is no blank
  const std::string_view name = trimmed(text.substr(0, word));
  const std::optional<Range> at = read_range(text.substr(word), longest_);
  if (name.empty() || name.find('\'') != std::string_view::npos || !at) {
    return refuse("fields: \"" + std::string(text) +
                  "\" is no name with its positions, such as: run 1-4, result 39, note 40-; they "
                  "begin at 1 and end at " +
                  std::to_string(longest_));
  }
  if (name == "-") {
    kind.segments.push_back({*at, Segment::Use::kUnused, 0});
    return true;
  }
  if (std::find(kind.names.begin(), kind.names.end(), name) != kind.names.end())
    return refuse("fields: \"" + std::string(name) + "\" is there twice; each name must differ");
  kind.segments.push_back({*at, Segment::Use::kField, kind.names.size()});
  kind.names.emplace_back(name);
  return true;
}

bool LayoutText::fill_gaps(LineKind& kind) {
  std::sort(kind.segments.begin(), kind.segments.end(),
            [](const Segment& a, const Segment& b) { return a.at.first < b.at.first; });
  std::vector<Segment> filled;
  uint64_t next = 1;  // 0: nothing comes after a field that goes to the line's end
  for (const Segment& segment : kind.segments) {
    if (next == 0 || segment.at.first < next) {
      return refuse("fields: position " + std::to_string(segment.at.first) +
                    " is in two fields; they must not overlap");
    }
    if (segment.at.first > next)
      filled.push_back({{next, segment.at.first - 1}, Segment::Use::kGap, 0});
    filled.push_back(segment);
    next = segment.at.last == kToLineEnd ? 0 : segment.at.last + 1;
  }
  if (next != 0) filled.push_back({{next, kToLineEnd}, Segment::Use::kGap, 0});
  kind.segments = std::move(filled);
  return true;
}

}  // namespace girdle::columns
