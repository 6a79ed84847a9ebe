#include <cstdint>
#include <string_view>

#include "columns/columns_reader.h"
#include "plugins/fuzzed.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::string kKinds = "'H' carried: a 3-6; 'I' carried: b 2; 'R': c 3-5, d 7-";
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {{"fields", "run 1-4, item 6-8, result 10"}},
      {{"fields", "run 1-4, - 5, item 6-"}, {"short", "pad"}, {"tabs", "4"}, {"trim", "false"}},
      {{"fields", kKinds}, {"ignore", "'#', 'RR'"}},
      {{"fields", kKinds}, {"encoding", "utf-16"}, {"count", "bytes"}},
      {{"fields", "a 2-3, b 5-9"}, {"count", "bytes"}, {"short", "pad"}},
      {{"fields", kKinds}, {"encoding", "windows-1252"}, {"short", "pad"}},
      {{"fields", kKinds}, {"encoding", "gb18030"}, {"count", "bytes"}, {"tabs", "8"}},
      {{"fields", "a 1-2, b 4-"}, {"encoding", "ibm437"}, {"ignore", "'a'"}},
  };
  girdle::plugins_test::fuzz(girdle::columns::descriptor(),
                             {reinterpret_cast<const char*>(data), size}, kChoices);
  return 0;
}
