// The console's pages, embedded in the program (console/ holds them; CMake embeds what lies there).
#pragma once

#include <span>
#include <string_view>

namespace girdle::api {

struct ConsoleFile {
  std::string_view path;          // "/" for index.html, else "/console/app.js"
  std::string_view content_type;  // with charset
  std::string_view bytes;         // live for ever
  std::string_view etag;          // with its quotes; of the bytes' digest
};

std::span<const ConsoleFile> console_files();

}  // namespace girdle::api
