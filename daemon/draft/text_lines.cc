#include "draft/text_lines.h"

namespace girdle::draft {

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const size_t end = text.find_first_of("\r\n");
    lines.push_back(text.substr(0, end));
    if (end == text.npos) break;
    text.remove_prefix(end + (text.substr(end, 2) == "\r\n" ? 2 : 1));
  }
  return lines;
}

bool is_blank(std::string_view line) { return line.find_first_not_of(" \t") == line.npos; }

}  // namespace girdle::draft
