#include <cstdint>
#include <string_view>

#include "labelled/labelled_reader.h"
#include "plugins/fuzzed.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {},
      {{"end", "-+"}, {"ignore", "QUAY.*"}, {"continued", "indented"}},
      {{"lines", "3"}, {"fold", "both"}, {"unended", "record"}},
      {{"end", "-+"}, {"form_feed", "false"}, {"encoding", "utf-16"}},
      {{"end", "^$"}, {"labels", "(\\w+) (.*)"}},
      {{"labels", "(?P<run>\\d+)(?: of (?P<of>\\d+))?\n([^ ]+) +(.*)"}, {"end", "Result.*"}},
      {{"encoding", "shift_jis"}, {"end", "-+"}},
      {{"encoding", "windows-1252"}, {"fold", "case"}, {"continued", "indented"}},
  };
  girdle::plugins_test::fuzz(girdle::labelled::descriptor(),
                             {reinterpret_cast<const char*>(data), size}, kChoices);
  return 0;
}
