#include "framing/block_framer.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "recorder.h"

namespace girdle::framing {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

config::Framing block(std::string start = "\x02", std::string end = "\x03",
                      std::string check = "") {
  config::Framing settings;
  settings.kind = config::Framing::Kind::kBlock;
  settings.start = std::move(start);
  settings.end = std::move(end);
  settings.check = std::move(check);
  return settings;
}

std::vector<std::string> frames(const std::vector<Said>& said) {
  std::vector<std::string> out;
  for (const Said& one : said) {
    if (one.is_frame) out.push_back(one.bytes);
  }
  return out;
}

TEST(BlockFramer, TakesWhatStandsBetweenStartAndEnd) {
  const auto said = cut(block(), "\x02R1042;natural\x03\r\n\x02second\x03");
  EXPECT_THAT(frames(said), ElementsAre("R1042;natural", "second"));
  ASSERT_EQ(said.size(), 2u);  // the line end between the two is white space, and no fault
  EXPECT_EQ(said[1].stream_offset, 17u);
}

TEST(BlockFramer, AnEmptyFrameIsAFrame) {
  EXPECT_THAT(frames(cut(block(), "\x02\x03")), ElementsAre(""));
}

TEST(BlockFramer, TellsJunkBetweenFrames) {
  const auto said = cut(block(), "AT+GMM\r\x02one\x03 \x15 \x02two\x03");
  ASSERT_EQ(said.size(), 4u);
  EXPECT_EQ(said[0].bytes, "AT+GMM\r");
  EXPECT_EQ(said[0].stream_offset, 0u);
  EXPECT_EQ(said[2].bytes, " \x15 ");
  EXPECT_THAT(frames(said), ElementsAre("one", "two"));
}

TEST(BlockFramer, BoundsEndlessJunkAndTellsItOnce) {
  config::Framing settings = block();
  settings.max_bytes = 10;
  const auto said = cut(settings, std::string(100000, 'U') + "\x02ok\x03");
  ASSERT_EQ(said.size(), 2u);
  EXPECT_TRUE(said[0].truncated);
  EXPECT_EQ(said[0].bytes, std::string(12, 'U'));
  EXPECT_EQ(said[1].bytes, "ok");
  EXPECT_EQ(said[1].stream_offset, 100000u);
}

TEST(BlockFramer, FindsJunkBehindMuchWhiteSpace) {
  config::Framing settings = block();
  settings.max_bytes = 10;
  const auto said = cut(settings, std::string(1000, ' ') + "junk\x02ok\x03");
  ASSERT_EQ(said.size(), 2u);
  EXPECT_THAT(said[0].bytes, HasSubstr("junk"));
}

TEST(BlockFramer, AStartWithinAFrameMeansThatAnEndWasLost) {
  const auto said = cut(block(), "\x02lost\x02good\x03");
  ASSERT_EQ(said.size(), 2u);
  EXPECT_FALSE(said[0].is_frame);
  EXPECT_EQ(said[0].bytes, "\x02lost");
  EXPECT_EQ(said[1].bytes, "good");
}

TEST(BlockFramer, MakesOneFaultOfAFrameAboveTheLimit) {
  config::Framing settings = block();
  settings.max_bytes = 4;
  const auto said = cut(settings,
                        "\x02"
                        "1234\x03\x02"
                        "12345678\x03\x02ok\x03");
  EXPECT_THAT(frames(said), ElementsAre("1234", "ok"));
  ASSERT_EQ(said.size(), 3u);
  EXPECT_TRUE(said[1].truncated);
  EXPECT_EQ(said[1].bytes,
            "\x02"
            "12345");
}

TEST(BlockFramer, SkipsTheCheckOfAFrameAboveTheLimit) {
  config::Framing settings = block("\x02", "\x03", "xor8");
  settings.max_bytes = 4;
  // Behind the end of the frame that is too long stands a check that equals STX: it begins nothing.
  const auto said = cut(settings,
                        "\x02"
                        "12345678\x03\x02"
                        "\x02"
                        "A\x03\x42");
  ASSERT_EQ(said.size(), 2u);
  EXPECT_THAT(frames(said), ElementsAre("A"));
}

TEST(BlockFramer, MakesAFaultOfThePartialFrameOfALostLine) {
  const auto said = cut(block(), "\x02whole\x03\x02hal");
  ASSERT_EQ(said.size(), 2u);
  EXPECT_EQ(said[1].bytes, "\x02hal");
  EXPECT_THAT(cut(block(), "\x02whole\x03\r\n"), testing::SizeIs(1));
}

// Computed by hand from the definition (xor of the text and ETX): each text's block check equals
// the byte named. It is taken as the check, and never looked at as a mark.
TEST(BlockFramer, TakesACheckThatEqualsAControlByte) {
  const std::pair<const char*, char> cases[] = {{"00", '\x03'}, {"01", '\x02'}, {"04", '\x07'},
                                                {"05", '\x06'}, {"09", '\x0A'}, {"68", '\x0D'},
                                                {"AU", '\x17'}, {"AW", '\x15'}, {"DZ", '\x1D'}};
  for (const auto& [text, byte] : cases) {
    const std::string one = std::string("\x02") + text + "\x03" + byte;
    const auto said = cut(block("\x02", "\x03", "xor8"), one + one + "\r\n" + one);
    EXPECT_THAT(frames(said), ElementsAre(text, text, text)) << text;
    EXPECT_EQ(said.size(), 3u) << text;
  }
}

// IEC 62056-21, from the tests of the library iec62056-21 (github pwitab/iec62056-21): a frame with
// block check 58 whose right check is 50. There the range begins behind SOH, which is our start.
TEST(BlockFramer, TellsBothValuesOfAWrongCheck) {
  const config::Framing settings = block("\x01", "\x03", "xor8");
  const auto wrong = cut(settings, unhex("015030022831323334353637290358"));
  ASSERT_EQ(wrong.size(), 1u);
  EXPECT_FALSE(wrong[0].is_frame);
  EXPECT_THAT(wrong[0].reason, HasSubstr("0x50"));
  EXPECT_THAT(wrong[0].reason, HasSubstr("0x58"));
  EXPECT_EQ(wrong[0].bytes, unhex("015030022831323334353637290358"));
  EXPECT_THAT(frames(cut(settings, unhex("015030022831323334353637290350"))),
              ElementsAre(unhex("503002283132333435363729")));
  EXPECT_THAT(frames(cut(settings, unhex("0142300371"))), ElementsAre("B0"));
}

// RS-232 display control manuals of several makers, "Check code": SOH excluded, STX and ETX
// included; then CR.
TEST(BlockFramer, ReadsTheDisplayManualsWorkedExample) {
  const auto said =
      cut(block("\x01", "\x03", "xor8"), unhex("0130413045304102303031303030363403770d"));
  ASSERT_EQ(said.size(), 1u);
  EXPECT_EQ(said[0].bytes, unhex("304130453041023030313030303634"));
}

// minimalmodbus' tests citing Wikipedia: the sum is over all six bytes, the first and the last
// included.
TEST(BlockFramer, TheRangeMayHoldStartAndEnd) {
  config::Framing settings = block("\x02", "\x03", "neg-sum8");
  settings.check_with_start = true;
  EXPECT_THAT(frames(cut(settings, unhex("02303031230347"))), ElementsAre("001#"));
  settings.check_with_start = false;
  EXPECT_THAT(frames(cut(settings, unhex("02303031230347"))), IsEmpty());
}

// NMEA 0183 sentences of pynmea2's tests (MIT), github Knio/pynmea2 @13e309b, and of
// tigoe.net/pcomp/code (GPRMC): the exclusive or of what stands between "$" and "*", as two digits.
TEST(BlockFramer, ReadsNmeaSentences) {
  config::Framing settings = block("$", "*", "xor8");
  settings.check_hex = true;
  settings.check_with_end = false;
  const auto said =
      cut(settings,
          "$GPGSV,3,3,09,24,03,046,*47\r\n$GPVTG,,T,,M,0.00,N*1B\r\n$WIMTA,010.0,C*2A\r\n"
          "$INTHS,304.5,A*25\r\n$GPR00,A,B,C*29\r\n"
          "$GPRMC,155123.000,A,4043.8432,N,07359.7653,W,0.15,83.25,200407,,*28\r\n");
  EXPECT_EQ(frames(said).size(), 6u);
  EXPECT_EQ(said.size(), 6u);
  // A sentence that a web page publishes with a wrong sum; the right one is 22.
  const auto wrong = cut(settings, "$HEHDT,178.3,T*1E\r\n");
  ASSERT_EQ(wrong.size(), 1u);
  EXPECT_THAT(wrong[0].reason, HasSubstr("0x22"));
}

// python-astm 0.5's tests (BSD), github kxepal/python-astm @606a774, astm/tests/test_codecs.py: sum
// from the frame's number through ETX, two digits. astm.dev.incl_stx was computed from the frame at
// hendricksongroup.com/code_003.aspx.
TEST(BlockFramer, ReadsFramesWithASumOfTwoDigits) {
  const config::Framing settings = block("\x02", "\x03", "sum8-hex");
  const auto said =
      cut(settings, unhex("0231417c427c437c440d0342460d0a0231c97cd67cd37cca0d0346310d0a"));
  EXPECT_EQ(said.size(), 2u);
  EXPECT_THAT(frames(said), ElementsAre(unhex("31417c427c437c440d"), unhex("31c97cd67cd37cca0d")));
  EXPECT_THAT(frames(cut(settings, unhex("0231417c427c437c440d0362660d0a"))), testing::SizeIs(1))
      << "lower case";
  EXPECT_THAT(cut(settings, unhex("0231417c427c437c440d0342470d0a"))[0].reason, HasSubstr("0xBF"));
  EXPECT_THAT(cut(settings, unhex("0231417c427c437c440d030d0a0d0a"))[0].reason,
              HasSubstr("no hexadecimal"));
}

// The CRC of the frame 0207 is 41 12 on the wire: MODBUS over Serial Line Specification V1.02.
TEST(BlockFramer, TakesTwoBytesOfACrcInTheOrderThatIsNamed) {
  config::Framing settings = block("<", ">", "crc-16/modbus");
  settings.check_with_end = false;
  settings.check_low_byte_first = true;
  EXPECT_THAT(frames(cut(settings, unhex("3c02073e4112"))), ElementsAre(unhex("0207")));
  settings.check_low_byte_first = false;
  EXPECT_THAT(frames(cut(settings, unhex("3c02073e1241"))), ElementsAre(unhex("0207")));
  settings.check_hex = true;
  EXPECT_THAT(frames(cut(settings, unhex("3c02073e31323431"))), ElementsAre(unhex("0207")));
}

// The CRCs of "123456789" are the catalogue's, see crc_test.cc.
TEST(BlockFramer, TakesChecksOfOneToEightBytes) {
  config::Framing settings = block("<", ">");
  settings.check_with_end = false;
  const auto one = [&](std::string check, std::string_view bytes) {
    settings.check = std::move(check);
    const auto twice = "<123456789>" + unhex(bytes) + "\r\n<123456789>" + unhex(bytes);
    EXPECT_THAT(frames(cut(settings, twice)), ElementsAre("123456789", "123456789")) << bytes;
  };
  one("crc-8/smbus", "F4");
  one("crc-24/openpgp", "21CF02");
  one("crc-32/iso-hdlc", "CBF43926");
  one("crc-40/gsm", "D4164FC646");
  one("crc-64/xz", "995DC9BBDF1939FA");
  settings.check_low_byte_first = true;
  one("crc-32/iso-hdlc", "2639F4CB");
  settings.check = "crc-32/iso-hdlc";
  EXPECT_THAT(cut(settings, "<123456789>" + unhex("CBF43926"))[0].reason,
              HasSubstr("CRC-32/ISO-HDLC of this frame is 0xCBF43926, the line says 0x2639F4CB"));
}

TEST(BlockFramer, MarksMayBeSeveralBytesAndTheSame) {
  EXPECT_THAT(frames(cut(block("<<", ">>"), "<a<<b>c>>d<<e>>")), ElementsAre("b>c", "e"));
  EXPECT_THAT(frames(cut(block("//", "//"), "//a////b//")), ElementsAre("a", "b"));
}

TEST(BlockFramer, MakesAFaultOfAFrameWithADamagedByte) {
  auto framer = make_framer(block("\x02", "\x03", "xor8"));
  Recorder said;
  (*framer)->feed(
      "\x02"
      "A",
      said);
  (*framer)->feed_damaged('\x03', said);  // never an end
  (*framer)->feed(
      "\x03\x41\x02"
      "A\x03",
      said);
  (*framer)->feed_damaged('\x42', said);  // the right check, and yet not to be trusted
  (*framer)->feed(
      "\x02"
      "A\x03\x42",
      said);
  EXPECT_THAT(said.frames(), ElementsAre("A"));
  ASSERT_EQ(said.faults().size(), 2u);
  EXPECT_THAT(said.faults()[0].reason, HasSubstr("parity"));
  EXPECT_THAT(said.faults()[1].reason, HasSubstr("parity"));
}

TEST(BlockFramer, IgnoresABreakBetweenFrames) {
  auto framer = make_framer(block());
  Recorder said;
  (*framer)->feed_damaged('\0', said);
  (*framer)->feed(
      "\x02"
      "A\x03",
      said);
  (*framer)->reset(said);
  EXPECT_THAT(said.frames(), ElementsAre("A"));
  EXPECT_THAT(said.faults(), IsEmpty());
}

}  // namespace
}  // namespace girdle::framing
