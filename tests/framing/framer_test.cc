#include "framing/framer.h"

#include <gtest/gtest.h>

#include <random>

#include "recorder.h"

namespace girdle::framing {
namespace {

config::Framing line_settings() {
  config::Framing settings;
  settings.max_bytes = 12;
  return settings;
}

config::Framing block_settings(std::string start, std::string end, std::string check) {
  config::Framing settings;
  settings.kind = config::Framing::Kind::kBlock;
  settings.max_bytes = 12;
  settings.start = std::move(start);
  settings.end = std::move(end);
  settings.check = std::move(check);
  return settings;
}

std::vector<config::Framing> all_settings() {
  std::vector<config::Framing> out = {line_settings(),
                                      block_settings("\x02", "\x03", ""),
                                      block_settings("\x02", "\x03", "xor8"),
                                      block_settings("\x02", "\x03", "sum8-hex"),
                                      block_settings("\x02\x02", "\r\n", "CRC-16/ARC"),
                                      block_settings("*", "*", "")};
  return out;
}

// A stream of the bytes that matter to framers, and of whole frames with right and wrong checks.
std::string random_stream(std::mt19937_64& random) {
  static constexpr char kBytes[] = "\x02\x02\x03\r\n*A0 \x01";
  std::string out;
  while (out.size() < 60) {
    switch (random() % 4) {
      case 0:
        out +=
            "\x02"
            "00\x03\x03";
        break;
      case 1:
        out +=
            "\x02\x02"
            "AB\r\n";
        break;
      case 2:
        out += std::string(random() % 20, 'x');
        break;
      case 3:
        for (uint64_t n = random() % 8; n > 0; --n) out += kBytes[random() % (sizeof kBytes - 1)];
        break;
    }
  }
  return out;
}

TEST(Framer, GivesTheSameForEverySplitOfAStreamInTwo) {
  std::mt19937_64 random(1);
  for (int round = 0; round < 100; ++round) {
    const std::string stream = random_stream(random);
    for (const config::Framing& settings : all_settings()) {
      const auto whole = cut(settings, stream);
      for (size_t at = 0; at <= stream.size(); ++at) {
        ASSERT_EQ(cut_at(settings, stream, {at}), whole)
            << "round " << round << ", split at " << at;
      }
    }
  }
}

TEST(Framer, GivesTheSameForAStreamByteByByteAndInRandomPieces) {
  std::mt19937_64 random(2);
  size_t said = 0;
  for (int round = 0; round < 500; ++round) {
    const std::string stream = random_stream(random);
    std::vector<size_t> every, some;
    for (size_t at = 1; at < stream.size(); ++at) {
      every.push_back(at);
      if (random() % 5 == 0) some.push_back(at);
    }
    for (const config::Framing& settings : all_settings()) {
      const auto whole = cut(settings, stream);
      ASSERT_EQ(cut_at(settings, stream, every), whole) << "round " << round;
      ASSERT_EQ(cut_at(settings, stream, some), whole) << "round " << round;
      said += whole.size();
    }
  }
  EXPECT_GT(said, 10000u);  // the streams do hold frames and faults
}

TEST(Framer, TellsEveryByteOfALineStreamOnce) {
  std::mt19937_64 random(3);
  for (int round = 0; round < 200; ++round) {
    const std::string stream = random_stream(random);
    config::Framing settings;
    std::string told, expected;
    for (const Said& one : cut(settings, stream)) told += one.bytes;
    for (const char c : stream) {
      if (c != '\r' && c != '\n') expected += c;
    }
    ASSERT_EQ(told, expected);
  }
}

TEST(Framer, CountsOffsetsOnAcrossALostLine) {
  auto framer = make_framer(line_settings());
  Recorder said;
  (*framer)->feed("ab", said);
  (*framer)->reset(said);
  (*framer)->feed("cd\n", said);
  ASSERT_EQ(said.said.size(), 2u);
  EXPECT_EQ(said.said[1].stream_offset, 2u);
}

TEST(Framer, RefusesSettingsThatCannotWork) {
  EXPECT_FALSE(make_framer(block_settings("", "\x03", "")).ok());
  EXPECT_FALSE(make_framer(block_settings("\x02", "", "")).ok());
  EXPECT_FALSE(make_framer(block_settings("123456789", "\x03", "")).ok());
  EXPECT_FALSE(make_framer(block_settings("\x02", "\x03", "bcc")).ok());
  config::Framing settings;
  settings.max_bytes = 0;
  EXPECT_FALSE(make_framer(settings).ok());
}

}  // namespace
}  // namespace girdle::framing
