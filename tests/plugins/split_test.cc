// The promise of the ABI: however the bytes are cut, into feeds or into pieces of a growing
// document, the same comes out.
#include <gmock/gmock.h>

#include <algorithm>
#include <random>

#include "delimited/delimited_reader.h"
#include "json/json_reader.h"
#include "plugins/corpus.h"

namespace girdle::plugins_test {
namespace {

using testing::IsEmpty;

std::vector<size_t> random_cuts(size_t size, std::mt19937& random) {
  std::vector<size_t> cuts(random() % 6);
  for (size_t& cut : cuts) cut = random() % (size + 1);
  std::sort(cuts.begin(), cuts.end());
  return cuts;
}

std::vector<std::string_view> cut_at(std::string_view bytes, const std::vector<size_t>& cuts) {
  std::vector<std::string_view> pieces;
  size_t from = 0;
  for (const size_t cut : cuts) {
    pieces.push_back(bytes.substr(from, cut - from));
    from = cut;
  }
  pieces.push_back(bytes.substr(from));
  return pieces;
}

// Layouts are numbers of one reader; they must not depend on feeds either.
std::vector<uint32_t> layouts(const Heard& heard) {
  std::vector<uint32_t> numbers;
  for (const Record& record : heard.records) numbers.push_back(record.layout);
  return numbers;
}

void expect_the_same(const girdle_reader_descriptor& reader, const std::string& bytes,
                     const Options& options, const Limits& limits, std::mt19937& random) {
  const Heard whole = read(reader, {bytes}, options, true, limits);
  EXPECT_THAT(whole.breaches, IsEmpty()) << whole.text();
  const auto same = [&](const Heard& other, const std::string& how) {
    EXPECT_THAT(other.breaches, IsEmpty()) << how;
    EXPECT_EQ(other.text(), whole.text()) << how;
  };
  for (const size_t size : {1, 2, 3, 7, 64}) {
    const Heard split = read(reader, pieces_of(bytes, size), options, true, limits);
    same(split, "pieces of " + std::to_string(size));
    EXPECT_EQ(layouts(split), layouts(whole));
    EXPECT_EQ(split.state, whole.state);
  }
  for (int i = 0; i < 20; ++i) {
    const std::vector<size_t> cuts = random_cuts(bytes.size(), random);
    const std::string how = testing::PrintToString(cuts);
    same(read(reader, cut_at(bytes, cuts), options, true, limits), "feeds cut at " + how);
    same(read_growing(reader, bytes, cuts, options, limits), "growing, cut at " + how);
  }
  std::vector<size_t> everywhere(bytes.size());
  for (size_t i = 0; i < everywhere.size(); ++i) everywhere[i] = i + 1;
  if (bytes.size() < 600)
    same(read_growing(reader, bytes, everywhere, options, limits), "growing byte by byte");
}

std::vector<Case> all_of(const std::string& name, const std::string& extension) {
  std::vector<Case> cases = corpus(name + "/accept", extension);
  for (Case& one : corpus(name + "/aside", extension)) cases.push_back(std::move(one));
  return cases;
}

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
  std::mt19937 random(1);
  for (const Case& one : all_of("delimited", "csv")) {
    SCOPED_TRACE(one.name);
    expect_the_same(delimited::descriptor(), one.bytes, one.options, {}, random);
    expect_the_same(delimited::descriptor(), one.bytes, one.options, {64, 3}, random);
  }
}

TEST(Split, JsonCorpusIsTheSameHoweverItIsCut) {
  std::mt19937 random(2);
  for (const Case& one : all_of("json", "json")) {
    SCOPED_TRACE(one.name);
    expect_the_same(json::descriptor(), one.bytes, one.options, {}, random);
    expect_the_same(json::descriptor(), one.bytes, one.options, {64, 3}, random);
  }
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
    expect_the_same(delimited::descriptor(), text, options, {64, 4}, random);
    if (i % 4 == 0)
      expect_the_same(delimited::descriptor(), in_utf16(text), options, {64, 4}, random);
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
    expect_the_same(json::descriptor(), text, shapes[random() % shapes.size()], {64, 4}, random);
  }
}

}  // namespace
}  // namespace girdle::plugins_test
