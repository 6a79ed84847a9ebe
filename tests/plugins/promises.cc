#include "plugins/promises.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <random>

namespace girdle::plugins_test {

namespace {

using testing::IsEmpty;

void expect_as_written(const girdle_reader_descriptor& reader, const Case& one) {
  SCOPED_TRACE(one.name);
  const Heard heard = read(reader, {one.bytes}, one.options);
  EXPECT_THAT(heard.breaches, IsEmpty());
  EXPECT_EQ(heard.refusal, "");
  EXPECT_EQ(heard.status, GIRDLE_OK);
  std::vector<std::vector<std::pair<std::string, std::string>>> records;
  for (const Record& record : heard.records) records.push_back(record.fields);
  EXPECT_EQ(records, one.records) << heard.text();
  ASSERT_EQ(heard.asides.size(), one.asides.size()) << heard.text();
  for (size_t i = 0; i < one.asides.size(); ++i) {
    EXPECT_EQ(heard.asides[i].offset, one.asides[i].offset) << heard.text();
    EXPECT_EQ(heard.asides[i].length, one.asides[i].length) << heard.text();
    EXPECT_EQ(heard.asides[i].line, one.asides[i].line) << heard.text();
    EXPECT_THAT(heard.asides[i].reason, testing::HasSubstr(one.asides[i].reason));
  }
}

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

std::vector<uint32_t> layouts(const Heard& heard) {
  std::vector<uint32_t> numbers;
  for (const Record& record : heard.records) numbers.push_back(record.layout);
  return numbers;
}

}  // namespace

void expect_corpus(const girdle_reader_descriptor& reader, const std::string& name,
                   size_t at_least, const std::string& extension) {
  size_t count = 0;
  for (const std::string folder : {"accept", "aside"}) {
    for (const Case& one : corpus(name + "/" + folder, extension)) {
      ++count;
      EXPECT_EQ(one.asides.empty(), folder == "accept") << one.name;
      expect_as_written(reader, one);
    }
  }
  EXPECT_GE(count, at_least);
}

void expect_the_same_from_any_split(const girdle_reader_descriptor& reader,
                                    const std::string& bytes, const Options& options,
                                    const Limits& limits, unsigned seed) {
  std::mt19937 random(seed);
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

void expect_corpus_from_any_split(const girdle_reader_descriptor& reader, const std::string& name,
                                  const std::string& extension, const std::vector<Limits>& limits) {
  unsigned seed = 0;
  for (const std::string folder : {"accept", "aside"}) {
    for (const Case& one : corpus(name + "/" + folder, extension)) {
      SCOPED_TRACE(one.name);
      for (const Limits& narrow : limits)
        expect_the_same_from_any_split(reader, one.bytes, one.options, narrow, ++seed);
    }
  }
  EXPECT_GT(seed, 0u);
}

void expect_all_bytes_told(std::string_view bytes, const Heard& heard,
                           bool (*hollow)(std::string_view stretch)) {
  std::vector<std::pair<uint64_t, uint64_t>> told;
  for (const Record& record : heard.records) told.emplace_back(record.offset, record.length);
  for (const Aside& aside : heard.asides) told.emplace_back(aside.offset, aside.length);
  told.emplace_back(bytes.size(), 0);
  std::sort(told.begin(), told.end());
  uint64_t from = 0;
  for (const auto& [offset, length] : told) {
    const std::string_view between = bytes.substr(from, offset - from);
    EXPECT_TRUE(hollow(between)) << testing::PrintToString(std::string(between)) << " is lost";
    from = offset + length;
  }
}

void expect_bad_states_refused(const girdle_reader_descriptor& reader, std::string_view begun,
                               std::string_view more, const Options& options) {
  const std::string good = read(reader, {begun}, options, false).state;
  ASSERT_NE(good, "");
  EXPECT_EQ(read(reader, {}, options, false, {}, good).refusal, "");
  for (size_t size = 1; size < good.size(); ++size)
    EXPECT_NE(read(reader, {}, options, false, {}, good.substr(0, size)).refusal, "") << size;
  EXPECT_NE(read(reader, {}, options, false, {}, good + "x").refusal, "");
  size_t refused = 0;
  for (size_t i = 0; i < good.size(); ++i) {
    for (const char c : {'\0', '\1', '\2', '\5', '\x80', '\xFF'}) {
      std::string bad = good;
      bad[i] = c;
      const Heard heard = read(reader, {more}, options, true, {}, bad);
      refused += !heard.refusal.empty();
      EXPECT_EQ(heard.status, GIRDLE_OK);
      EXPECT_THAT(heard.breaches, IsEmpty()) << i << ' ' << static_cast<int>(c);
    }
  }
  EXPECT_GT(refused, good.size());
}

}  // namespace girdle::plugins_test
