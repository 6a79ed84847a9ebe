// Texts as YAML 1.2 writes them.
//
// Pure; any thread.
#pragma once

#include <string>
#include <string_view>

namespace girdle::draft {

// A scalar that reads back as this text, in block and in flow style: plain where it is letters and
// digits, else in double quotes. `text` is UTF-8.
std::string yaml_text(std::string_view text);

// A comment of as many lines as it takes: each begins with `indent` and "# ", and ends within 80
// columns where there is a space to end it at. What cannot stand in a comment is shown as \xNN.
std::string yaml_comment(std::string_view text, std::string_view indent);

}  // namespace girdle::draft
