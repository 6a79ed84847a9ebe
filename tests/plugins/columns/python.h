// Scripts in tests/plugins/ that say what Python makes of random documents.
#pragma once

#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::plugins_test {

inline std::vector<std::string> lines_of_python(const std::string& script) {
  FILE* pipe = popen((GIRDLE_PYTHON " " GIRDLE_SOURCE_DIR "/tests/plugins/" + script).c_str(), "r");
  std::vector<std::string> lines(1);
  std::array<char, 4096> block;
  for (size_t n; pipe != nullptr && (n = fread(block.data(), 1, block.size(), pipe)) > 0;) {
    for (const char c : std::string_view(block.data(), n)) {
      if (c == '\n') {
        lines.emplace_back();
      } else {
        lines.back().push_back(c);
      }
    }
  }
  EXPECT_EQ(pipe == nullptr ? -1 : pclose(pipe), 0) << script;
  lines.pop_back();
  return lines;
}

inline std::string from_hexadecimal(std::string_view digits) {
  std::string bytes;
  for (size_t i = 0; i + 1 < digits.size(); i += 2)
    bytes.push_back(static_cast<char>(std::stoi(std::string(digits.substr(i, 2)), nullptr, 16)));
  return bytes;
}

}  // namespace girdle::plugins_test
