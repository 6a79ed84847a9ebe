#include <cstdint>
#include <string_view>

#include "astm/astm_reader.h"
#include "plugins/fuzzed.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {},
      {{"escapes", "keep"}},
      {{"comments", "aside"}, {"terminator", "optional"}},
      {{"encoding", "windows-1251"}},
      {{"encoding", "utf-16"}},
      {{"encoding", "gb18030"}},
  };
  girdle::plugins_test::fuzz(girdle::astm::descriptor(),
                             {reinterpret_cast<const char*>(data), size}, kChoices);
  return 0;
}
