#include <cstdint>
#include <string_view>

#include "json/json_reader.h"
#include "plugins/fuzzed.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {},
      {{"shape", "lines"}},
      {{"shape", "array"}},
      {{"shape", "object"}},
      {{"records", "/data/results"}},
      {{"records", "/r"}, {"context", "../a, ../b/c?"}},
      {{"records", "/s/-/r"}, {"context", "../a?, ../../a?"}}};
  girdle::plugins_test::fuzz(girdle::json::descriptor(),
                             {reinterpret_cast<const char*>(data), size}, kChoices);
  return 0;
}
