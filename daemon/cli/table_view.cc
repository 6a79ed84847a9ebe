#include "cli/table_view.h"

#include <algorithm>
#include <cstdio>
#include <ostream>

#include "base/time.h"

namespace girdle::cli {
namespace {

std::string cut(const std::string& text, size_t width) {
  if (width == 0 || display_width(text) <= width) return text;
  std::string out;
  size_t columns = 0;
  for (size_t i = 0; i < text.size(); ++i) {
    const bool starts = (text[i] & 0xC0) != 0x80;
    if (starts && ++columns >= width) break;
    out += text[i];
  }
  return out + "…";
}

constexpr std::string_view kGoesOn = "       ";  // before what did not fit into the line

// A word that alone is too long is cut.
std::vector<std::string> broken(std::string_view text, size_t width) {
  std::vector<std::string> lines;
  while (width > kGoesOn.size() && display_width(text) > width) {
    std::string line = cut(std::string(text), width);  // ends in "…", which takes one column
    line.resize(line.size() - std::string_view("…").size());
    const size_t space = line.find_last_of(' ');
    const size_t end = space == std::string::npos || line.find_first_not_of(' ') > space ? line.size() : space;
    lines.push_back((lines.empty() ? "" : std::string(kGoesOn)) + line.substr(0, end));
    text.remove_prefix(std::min(text.size(), end + (end < line.size() ? 1 : 0)));
    if (lines.size() == 1) width -= kGoesOn.size();
  }
  lines.push_back((lines.empty() ? "" : std::string(kGoesOn)) + std::string(text));
  return lines;
}

}  // namespace

size_t display_width(std::string_view text) {
  return static_cast<size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string bold(const Screen& screen, std::string_view text) {
  return screen.terminal ? "\x1b[1m" + std::string(text) + "\x1b[0m" : std::string(text);
}

std::string dim(const Screen& screen, std::string_view text) {
  return screen.terminal ? "\x1b[2m" + std::string(text) + "\x1b[0m" : std::string(text);
}

void TableView::print(Screen& screen) const {
  std::vector<size_t> widths;
  for (const std::string& head : heads_) widths.push_back(display_width(head));
  for (const Row& row : rows_) {
    for (size_t c = 0; c < row.cells.size(); ++c) widths[c] = std::max(widths[c], display_width(row.cells[c]));
  }
  size_t before_last = 0;
  for (size_t c = 0; c + 1 < widths.size(); ++c) before_last += widths[c] + 2;
  const auto wide = static_cast<size_t>(screen.width);
  const size_t last = wide > before_last + 10 ? wide - before_last : 0;

  const auto line = [&](const std::vector<std::string>& cells) {
    std::string out;
    for (size_t c = 0; c < cells.size(); ++c) {
      const bool is_last = c + 1 == cells.size();
      const std::string text = is_last ? cut(cells[c], last) : cells[c];
      out += text;
      if (!is_last) out.append(widths[c] + 2 - display_width(text), ' ');
    }
    return out;
  };
  screen.out << bold(screen, line(heads_)) << '\n';
  for (const Row& row : rows_) {
    screen.out << line(row.cells) << '\n';
    for (const std::string& text : row.below) {
      for (const std::string& part : broken(text, wide)) screen.out << dim(screen, part) << '\n';
    }
  }
}

std::string local_time(base::Instant instant, const std::string& timezone) {
  auto zone = base::Zone::find(timezone);
  const int64_t offset = zone ? zone->offset_seconds(instant) : 0;
  std::string text = base::format_rfc3339(instant + std::chrono::seconds(offset)).substr(0, 19);
  text[10] = ' ';
  char suffix[8];
  const int64_t minutes = (offset < 0 ? -offset : offset) / 60;
  std::snprintf(suffix, sizeof suffix, "%c%02d:%02d", offset < 0 ? '-' : '+', static_cast<int>(minutes / 60 % 24),
                static_cast<int>(minutes % 60));
  return text + ' ' + suffix;
}

}  // namespace girdle::cli
