#include "framing/block_check.h"

#include <gtest/gtest.h>

#include "recorder.h"

namespace girdle::framing {
namespace {

BlockCheck check(std::string_view name, bool hex = false, bool low_byte_first = false) {
  auto made = BlockCheck::create(name, hex, low_byte_first);
  EXPECT_TRUE(made.ok()) << made.error().text;
  return std::move(made).value();
}

TEST(BlockCheck, Xor8IsTheExclusiveOrOfTheBytes) {
  const BlockCheck xor8 = check("xor8");
  // gnablib's BCC tests (MPL), the table sum[].
  EXPECT_EQ(xor8.of(unhex("65aacce3")), 0xE0);
  EXPECT_EQ(xor8.of(unhex("ffeedd")), 0xCC);
  // IEC 62056-21 block check, from the tests of the library iec62056-21, github pwitab/iec62056-21:
  // SOH excluded, ETX included, then the check; the second was published as one to be refused, its
  // right value is 50.
  EXPECT_EQ(xor8.of(unhex("423003")), 0x71);
  EXPECT_EQ(xor8.of(unhex("50300228313233343536372903")), 0x50);
  // A worked example printed in RS-232 display control manuals of several makers ("Check code"):
  // SOH excluded.
  EXPECT_EQ(xor8.of(unhex("30413045304102303031303030363403")), 0x77);
}

TEST(BlockCheck, NegSum8IsTheTwosComplementOfTheSum) {
  const BlockCheck neg = check("neg-sum8");
  // minimalmodbus' tests (Apache-2.0), github pyhys/minimalmodbus @785262d, TestCalculateLrc; the
  // first cites Wikipedia's article on longitudinal redundancy checks.
  EXPECT_EQ(neg.of(unhex("023030312303")), 0x47);
  EXPECT_EQ(neg.of("ABCDE"), 0xB1);
  // Modbus ASCII frames of the pymodbus framer tests (BSD), @7361275: the LRC is over the bytes
  // that the digits spell.
  EXPECT_EQ(neg.of(unhex("0003007C0002")), 0x7F);
  EXPECT_EQ(neg.of(unhex("1103007C0002")), 0x6E);
  EXPECT_EQ(neg.of(unhex("110304008D008E")), 0xCD);
  EXPECT_EQ(neg.of(unhex("FF0304008D008E")), 0xDF);
  // The ASCII half of the worked example at bbs.21ic.com/icview-162927-1-1.html.
  EXPECT_EQ(neg.of(unhex("1103006B0003")), 0x7E);
}

// Computed by hand: the word LRC names two algorithms, which differ over the very same bytes.
TEST(BlockCheck, TheTwoAlgorithmsCalledLrcDiffer) {
  EXPECT_EQ(check("xor8").of(unhex("023030312303")), 0x13);
  EXPECT_EQ(check("xor8").of(unhex("3030312303")), 0x11);
  EXPECT_EQ(check("neg-sum8").of(unhex("023030312303")), 0x47);
}

// python-astm 0.5's tests (BSD), github kxepal/python-astm @606a774, astm/tests/test_codecs.py: the
// sum is over the bytes from the frame's number through ETX, as they are on the wire.
TEST(BlockCheck, Sum8IsTheSumOfTheWireBytes) {
  const BlockCheck sum = check("sum8-hex");
  EXPECT_EQ(sum.of(unhex("31417c427c437c440d03")), 0xBF);
  EXPECT_EQ(sum.of(unhex("31c97cd67cd37cca0d03")), 0xF1);
  EXPECT_EQ(sum.of(unhex("31666f6f7c310d6217")), 0xA8);
}

TEST(BlockCheck, ReadsBytesOrDigitsOfEitherCaseAndEitherOrder) {
  EXPECT_EQ(check("xor8").length(), 1u);
  EXPECT_EQ(check("xor8").read("\x03"), 0x03);
  EXPECT_EQ(check("xor8", true).length(), 2u);
  EXPECT_EQ(check("xor8", true).read("4a"), 0x4A);
  EXPECT_EQ(check("xor8", true).read("4G"), std::nullopt);
  EXPECT_EQ(check("sum8-hex").length(), 2u);
  EXPECT_EQ(check("sum8-hex").read("Bf"), 0xBF);
  EXPECT_EQ(check("CRC-16/MODBUS").length(), 2u);
  EXPECT_EQ(check("CRC-16/MODBUS").read("\x12\x41"), 0x1241);
  EXPECT_EQ(check("CRC-16/MODBUS", true).length(), 4u);
  EXPECT_EQ(check("CRC-16/MODBUS", true).read("1241"), 0x1241);
  EXPECT_EQ(check("CRC-16/MODBUS", true, true).read("4112"), 0x1241);
}

// pymodbus framer tests, test_LRC_CRC: numeric CRC DBE2, on the wire E2 DB. Printed values are
// often swapped.
TEST(BlockCheck, LowByteFirstSwapsTheWireOrderOnly) {
  const BlockCheck crc = check("CRC-16/MODBUS", false, true);
  EXPECT_EQ(crc.of(unhex("1234234534564567")), 0xDBE2);
  EXPECT_EQ(crc.read(unhex("E2DB")), 0xDBE2);
  EXPECT_EQ(crc.text(0xDBE2), "0xDBE2");
}

// The values are the catalogue's, see crc_test.cc. That a CRC that does not fill its bytes stands
// in their lower bits is common practice, no source.
TEST(BlockCheck, ACrcTakesAsManyBytesAsItsBitsFill) {
  const auto takes = [](std::string_view name) { return check(name).length(); };
  EXPECT_EQ(takes("CRC-5/USB"), 1u);
  EXPECT_EQ(takes("crc-8/smbus"), 1u);
  EXPECT_EQ(takes("CRC-15/CAN"), 2u);
  EXPECT_EQ(takes("CRC-24/OPENPGP"), 3u);
  EXPECT_EQ(takes("CRC-31/PHILIPS"), 4u);
  EXPECT_EQ(takes("CRC-32/ISO-HDLC"), 4u);
  EXPECT_EQ(takes("CRC-40/GSM"), 5u);
  EXPECT_EQ(takes("CRC-64/XZ"), 8u);
  EXPECT_EQ(check("CRC-32/ISO-HDLC", true).length(), 8u);
  EXPECT_EQ(check("CRC-8/SMBUS").of("123456789"), 0xF4u);
  EXPECT_EQ(check("CRC-32/ISO-HDLC").of("123456789"), 0xCBF43926u);
  EXPECT_EQ(check("CRC-32/ISO-HDLC").read("\xCB\xF4\x39\x26"), 0xCBF43926u);
  EXPECT_EQ(check("CRC-32/ISO-HDLC", false, true).read("\x26\x39\xF4\xCB"), 0xCBF43926u);
  EXPECT_EQ(check("CRC-32/ISO-HDLC", true).read("cbF43926"), 0xCBF43926u);
  EXPECT_EQ(check("CRC-32/ISO-HDLC", true, true).read("2639F4CB"), 0xCBF43926u);
  EXPECT_EQ(check("CRC-64/XZ").text(0x995DC9BBDF1939FA), "0x995DC9BBDF1939FA");
  EXPECT_EQ(check("CRC-15/CAN").text(0x059E), "0x059E");
}

TEST(BlockCheck, AnUnknownNameIsRefusedWithTheNearest) {
  const auto made = BlockCheck::create("CRC-16/MODBUZ", false, false);
  ASSERT_FALSE(made.ok());
  EXPECT_NE(made.error().text.find("did you mean CRC-16/MODBUS?"), std::string::npos)
      << made.error().text;
  EXPECT_FALSE(BlockCheck::create("lrc", false, false).ok());
}

}  // namespace
}  // namespace girdle::framing
