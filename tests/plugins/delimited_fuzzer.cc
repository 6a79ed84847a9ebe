#include <cstdint>
#include <string_view>

#include "delimited/delimited_reader.h"
#include "plugins/fuzzed.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {},
      {{"header", "no"}},
      {{"delimiter", ";"}, {"encoding", "windows-1252"}},
      {{"encoding", "utf-16"}},
      {{"comment", "#"}, {"quote", "none"}},
      {{"encoding", "windows-1251"}, {"header", "no"}, {"columns", "a,b"}},
      {{"encoding", "gb18030"}, {"escape", "\\"}, {"delimiter", "|"}},
      {{"encoding", "utf-16be"}, {"header_names", "a,b"}},
      {{"header_line", "3"}, {"repeated", "number"}, {"comment", "#"}},
      {{"header_names", "a"}, {"short", "pad"}, {"ignore", "-+\nTotal.*"}},
      {{"encoding", "big5"}, {"ignore", ".*"}},
      {{"encoding", "koi8-u"}, {"escape", "|"}, {"short", "pad"}},
  };
  girdle::plugins_test::fuzz(girdle::delimited::descriptor(),
                             {reinterpret_cast<const char*>(data), size}, kChoices);
  return 0;
}
