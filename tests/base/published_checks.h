// Published check values from checks/wire.json, where GIRDLE_SHARED names a folder that has it.
// Each names its source; what a test needs always is typed into the tests.
#pragma once

#include <simdjson.h>

#include <cstdlib>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace girdle {

struct PublishedCheck {
  std::string id;        // "gs1.csum.02345673"
  std::string input;     // bytes, also where the file has them as hexadecimal digits
  std::string expected;  // a text, or anything else as JSON
};

// Null where there is none.
inline const char* shared_folder() { return std::getenv("GIRDLE_SHARED"); }

inline std::string text_of(simdjson::dom::element element) {
  if (element.is_string()) return std::string(std::string_view(element));
  return simdjson::to_string(element);
}

inline std::string bytes_of_hex(std::string_view hex) {
  std::string bytes;
  for (size_t i = 0; i + 1 < hex.size(); i += 2)
    bytes += static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16));
  return bytes;
}

// All whose id begins so, in the order of the file. A pair of inputs in hexadecimal digits, with a
// slash between, stays as it is.
inline std::vector<PublishedCheck> published_checks(std::string_view prefix) {
  simdjson::dom::parser parser;
  std::vector<PublishedCheck> checks;
  for (const simdjson::dom::element check :
       parser.load(std::string(shared_folder()) + "/checks/wire.json").get_array()) {
    const std::string_view id = check["id"];
    if (!id.starts_with(prefix)) continue;
    const std::string input = text_of(check["input"]);
    const bool is_hex = std::string_view(check["input_kind"]) == "hex" &&
                        input.find_first_not_of("0123456789abcdefABCDEF") == input.npos;
    checks.push_back(
        {std::string(id), is_hex ? bytes_of_hex(input) : input, text_of(check["expected"])});
  }
  return checks;
}

}  // namespace girdle
