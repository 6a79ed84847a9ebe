// The readings of an outcome as bytes.
#include "ledger/measured.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <random>

namespace girdle::ledger {
namespace {

using namespace std::string_literals;
using Measurements = std::vector<Measured>;

constexpr Number kGreatest = std::numeric_limits<Number>::max();

// Numbers of every length, and the ends of the range.
Number some_number(std::mt19937_64& random) {
  if (random() % 16 == 0) return random() % 2 == 0 ? 1 : kGreatest;
  return static_cast<Number>((random() | uint64_t{1} << 63) >> (1 + random() % 63));
}

Measurements some_measurements(std::mt19937_64& random) {
  Measurements measured(random() % 12);
  Number before = some_number(random);
  for (Measured& m : measured) {
    const bool near = random() % 2 == 0 && before > 100 && before < kGreatest - 100;
    before = near ? before + static_cast<Number>(random() % 100) - 50 : some_number(random);
    m.reading = before;
    if (random() % 2 == 0) m.second = random() % 2 == 0 && before < kGreatest - 3 ? before + 3 : some_number(random);
  }
  return measured;
}

TEST(Measured, NoMeasurementIsNoByte) {
  EXPECT_EQ(pack_measured({}), "");
  EXPECT_EQ(unpack_measured(""), Measurements());
}

TEST(Measured, HasTheFormThatTheDocumentationShows) {
  EXPECT_EQ(pack_measured({{100, 101}, {102, 0}}), "\xc8\x01\x03\x04\0"s);
}

// Written by hand after the form that schemas/ledger.md gives.
TEST(Measured, NeighboursTakeTwoBytesEach) {
  EXPECT_EQ(pack_measured({{5, 0}, {6, 0}, {4, 0}}), "\x0a\0\x02\0\x03\0"s);
  EXPECT_EQ(pack_measured({{100, 101}, {101, 99}}), "\xc8\x01\x03\x02\x04"s);
}

TEST(Measured, AnyListComesBackAsItWas) {
  std::mt19937_64 random(20240611);
  for (int round = 0; round < 20'000; ++round) {
    const Measurements measured = some_measurements(random);
    EXPECT_EQ(unpack_measured(pack_measured(measured)), measured) << round;
  }
}

TEST(Measured, TheEndsOfTheRangeComeBackToo) {
  const Measurements measured = {{1, kGreatest}, {kGreatest, 1}, {1, 1}, {kGreatest, 0}};
  EXPECT_EQ(unpack_measured(pack_measured(measured)), measured);
}

// Nothing is guessed: a list has one form, and what has another form is no list.
TEST(Measured, BytesAreAListOnlyWhereTheListGivesThoseBytes) {
  std::mt19937_64 random(20240612);
  int lists = 0;
  for (int round = 0; round < 200'000; ++round) {
    std::string bytes(random() % 24, '\0');
    const auto most = static_cast<unsigned>(random() % 2 == 0 ? 255 : 20);
    for (char& byte : bytes) byte = static_cast<char>(random() % (most + 1));
    const auto measured = unpack_measured(bytes);
    if (!measured) continue;
    ++lists;
    EXPECT_EQ(pack_measured(*measured), bytes);
    for (const Measured& m : *measured) EXPECT_TRUE(m.reading > 0 && m.second >= 0);
  }
  EXPECT_GT(lists, 10'000);
}

TEST(Measured, RefusesWhatIsCutOffTooLongTooLargeOrNotPositive) {
  EXPECT_EQ(unpack_measured("\x0a"s), std::nullopt) << "no word on a second reading";
  EXPECT_EQ(unpack_measured("\x8a"s), std::nullopt) << "half a number";
  EXPECT_EQ(unpack_measured("\x8a\0\0"s), std::nullopt) << "a 5 in two bytes";
  EXPECT_EQ(unpack_measured("\0\0"s), std::nullopt) << "reading 0";
  EXPECT_EQ(unpack_measured("\x09\0"s), std::nullopt) << "reading -5";
  EXPECT_EQ(unpack_measured("\x0a\x0a"s), std::nullopt) << "second reading 0";
  EXPECT_EQ(unpack_measured(std::string(9, '\xff') + "\x02\0"s), std::nullopt) << "65 bits";
  EXPECT_EQ(unpack_measured(std::string(12, '\xff')), std::nullopt) << "no end";
}

TEST(Measured, EveryCutOfAListIsAShorterListOrNone) {
  const Measurements measured = {{7, 0}, {900, 902}, {901, 0}, {70'000, 69'000}};
  const std::string bytes = pack_measured(measured);
  for (size_t size = 0; size < bytes.size(); ++size) {
    const auto cut = unpack_measured(std::string_view(bytes).substr(0, size));
    if (cut) {
      EXPECT_TRUE(std::equal(cut->begin(), cut->end(), measured.begin())) << size;
    }
  }
}

}  // namespace
}  // namespace girdle::ledger
