// The promise of the ABI: however the bytes are cut, into feeds or into pieces of a growing
// document, the same comes out.
#include <gtest/gtest.h>

#include <random>

#include "delimited/delimited_reader.h"
#include "json/json_reader.h"
#include "plugins/promises.h"

namespace girdle::plugins_test {
namespace {

// Documents out of the marks that matter, so that every state meets every cut.
std::string mixed(std::string_view alphabet, size_t size, std::mt19937& random) {
  std::string text;
  while (text.size() < size) text.push_back(alphabet[random() % alphabet.size()]);
  return text;
}

// Whole records and broken ones, long enough to go over a limit of 64 bytes now and then.
std::string stitched(const std::vector<std::string>& parts, std::mt19937& random) {
  std::string text;
  for (size_t n = random() % 12; n > 0; --n) text += parts[random() % parts.size()];
  return text;
}

std::string in_utf16(std::string_view ascii) {
  std::string wide = "\xFF\xFE";
  for (const char c : ascii) wide += {c, '\0'};
  return wide;
}

TEST(Split, DelimitedCorpusIsTheSameHoweverItIsCut) {
  expect_corpus_from_any_split(delimited::descriptor(), "delimited", "csv", {{}, {64, 3}});
}

TEST(Split, JsonCorpusIsTheSameHoweverItIsCut) {
  expect_corpus_from_any_split(json::descriptor(), "json", "json", {{}, {64, 3}});
}

TEST(Split, MixedRowsAreTheSameHoweverTheyAreCut) {
  std::mt19937 random(3);
  const std::vector<Options> dialects = {{},
                                         {{"header", "no"}},
                                         {{"comment", "#"}},
                                         {{"quote", "none"}},
                                         {{"encoding", "windows-1252"}},
                                         {{"encoding", "gb18030"}},
                                         {{"encoding", "shift_jis"}, {"escape", "#"}},
                                         {{"ignore", "a+\n,"}, {"short", "pad"}},
                                         {{"header_names", "a,b"}, {"repeated", "number"}},
                                         {{"header_line", "4"}, {"comment", "#"}},
                                         {{"header_names", "b,aa"}, {"encoding", "koi8-r"}}};
  for (int i = 0; i < 400 && !testing::Test::HasFailure(); ++i) {
    const std::string begin = i % 3 == 0 ? "aa\n\"\r\n#\n" : "";
    const std::string text =
        begin + "a,b\n" + mixed("aab,,\"\"\r\n\n#\xC3\xA9\x81\x30", random() % 300, random);
    SCOPED_TRACE(testing::PrintToString(text));
    const Options& options = dialects[random() % dialects.size()];
    expect_the_same_from_any_split(delimited::descriptor(), text, options, {64, 4},
                                   static_cast<unsigned>(random()));
    if (i % 4 == 0)
      expect_the_same_from_any_split(delimited::descriptor(), in_utf16(text), options, {64, 4},
                                   static_cast<unsigned>(random()));
  }
}

TEST(Split, MixedJsonIsTheSameHoweverItIsCut) {
  std::mt19937 random(4);
  const std::string long_text(70, 'x');
  const std::vector<std::string> parts = {"{\"a\":1}",
                                          "{\"b\":\"\\\"}\"}",
                                          ",",
                                          "\n",
                                          "[",
                                          "]",
                                          "{\"r\":[",
                                          "]}",
                                          "1234",
                                          "null",
                                          "\"",
                                          "\\",
                                          " ",
                                          "{\"a\":\n2}",
                                          "{\"n\":\"" + long_text + "\"}",
                                          "\"" + long_text,
                                          std::string(70, '7'),
                                          "{\"r\":",
                                          "{\"a\":{\"b\":1},\"r\":[",
                                          ",\"b\":\"x\"",
                                          "{\"a\":7,",
                                          "\"r\":[{\"c\":1},{\"c\":2}]",
                                          "}",
                                          "\xC3\xA9",
                                          "\r\n",
                                          ",{\"c\":[1,{\"d\":2}]}",
                                          ":"};
  const std::vector<Options> shapes = {{},
                                       {{"shape", "lines"}},
                                       {{"shape", "array"}},
                                       {{"records", "/r"}},
                                       {{"records", "/1"}},
                                       {{"records", "/-/r"}, {"context", "../a?"}},
                                       {{"records", "/r"}, {"context", "../a, ../b?"}}};
  for (int i = 0; i < 600 && !testing::Test::HasFailure(); ++i) {
    const std::string text = (i % 3 == 0 ? "[" : "") + stitched(parts, random);
    SCOPED_TRACE(testing::PrintToString(text));
    expect_the_same_from_any_split(json::descriptor(), text, shapes[random() % shapes.size()], {64, 4},
                                   static_cast<unsigned>(random()));
  }
}

}  // namespace
}  // namespace girdle::plugins_test
