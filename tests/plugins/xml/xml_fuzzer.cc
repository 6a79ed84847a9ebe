#include <cstdint>
#include <string_view>

#include "plugins/fuzzed.h"
#include "xml/xml_reader.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {{"record", "/export/stones/stone"}},
      {{"record", "/export/stones/stone"},
       {"context", "../batch, ../../device"},
       {"repeated", "number"},
       {"max_depth", "5"}},
      {{"record", "/stone"}},
      {{"record", "/a/b"}, {"context", "../c"}},
      {{"record", "/a/a/a"}, {"repeated", "number"}}};
  girdle::plugins_test::fuzz(girdle::xml::descriptor(),
                             {reinterpret_cast<const char*>(data), size}, kChoices);
  return 0;
}
