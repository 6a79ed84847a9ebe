#include "draft/line_messages.h"

#include <gmock/gmock.h>

#include "draft/block_checks.h"

namespace girdle::draft {
namespace {

using namespace std::string_literals;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

std::string keys_of(const std::vector<Setting>& settings) {
  std::string text;
  for (const Setting& setting : settings) {
    text += (text.empty() ? "" : " ") + setting.name + '=' + setting.value;
  }
  return text;
}

// ISO 1155 / ISO 1745: exclusive or of all that follows STX up to and with ETX.
std::string xor8_block(const std::string& text) {
  char check = 0;
  for (const char c : text + '\x03') check = static_cast<char>(check ^ c);
  return '\x02' + text + '\x03' + check;
}

TEST(LineMessages, AreLinesWhereThereAreNoMarks) {
  const LineMessages found = messages_of("a,1\r\nb,2\r\n");
  EXPECT_THAT(found.frame, IsEmpty());
  ASSERT_THAT(found.messages, SizeIs(2));
  EXPECT_EQ(found.messages[1].bytes, "b,2");
}

TEST(LineMessages, AreBlocksWithoutACheckWhereNothingStandsBetweenThem) {
  const LineMessages found = messages_of("\x02R1042\x03\x02R1043\x03");
  EXPECT_EQ(keys_of(found.frame), "kind=block");
  ASSERT_THAT(found.messages, SizeIs(2));
  EXPECT_EQ(found.messages[0].bytes, "R1042");
}

// The check of the frame 01 04 02 FF FF is B8 80, high byte first 80 B8 in the CRC's own terms:
// crc-16/modbus of "123456789" is 4B37, as the RevEng catalogue has it; low byte first on the line.
TEST(LineMessages, HaveTheCheckThatHoldsOverAllOfThem) {
  const std::string one =
      "\x02"s
      "123456789"s
      "\x03"s;
  const auto found = checks_that_hold(one + "\x37\x4B"s + one + "\x37\x4B"s, "\x02", "\x03");
  std::vector<std::string> shown;
  for (const BlockCheck& check : found) shown.push_back(keys_of(check.keys()));
  EXPECT_THAT(shown, Contains("check=crc-16/modbus order=low_first range.end=excluded"));
}

TEST(LineMessages, DoNotLeaveTheCheckOpenWhereManyBlocksTell) {
  std::string stream;
  for (int i = 0; i < 12; ++i) {
    stream += xor8_block("R10" + std::to_string(40 + i * 3) + ",A" + std::to_string(i * i));
  }
  EXPECT_EQ(keys_of(messages_of(stream).frame), "kind=block check=xor8");
}

TEST(LineMessages, LeaveTheCheckOpenWhereFewBlocksTell) {
  const LineMessages found = messages_of(xor8_block("A"));
  EXPECT_THAT(keys_of(found.frame), HasSubstr("check=FILL_IN"));
  EXPECT_THAT(found.frame.back().candidates, Contains("xor8"));
}

// ASTM E1381's checksum as open libraries have it: the sum from the number to ETX, modulo 256.
std::string astm_frame(int number, const std::string& record) {
  const std::string frame = std::to_string(number) + record + "\r\x03";
  unsigned sum = 0;
  for (const char c : frame) sum += static_cast<unsigned char>(c);
  constexpr char kDigits[] = "0123456789ABCDEF";
  return '\x02' + frame + kDigits[sum >> 4 & 15] + kDigits[sum & 15] + "\r\n";
}

TEST(LineMessages, AreSessionsOfAstm) {
  const std::string session = "\x05" + astm_frame(1, "H|\\^&") + astm_frame(2, "P|1") +
                              astm_frame(3, "R|1|^^^S|N") + astm_frame(4, "L|1|N") + "\x04";
  const LineMessages found = messages_of(session + session);
  EXPECT_EQ(keys_of(found.frame), "kind=astm");
  ASSERT_THAT(found.messages, SizeIs(2));
  EXPECT_EQ(found.messages[0].bytes, "H|\\^&\rP|1\rR|1|^^^S|N\rL|1|N\r");
  EXPECT_THAT(found.faults, IsEmpty());
}

TEST(LineMessages, SayWhatTheSenderOfAstmDoesOtherwise) {
  std::string frame = astm_frame(1, "H|\\^&|x");
  for (char& c : frame) c = c >= 'A' && c <= 'F' ? static_cast<char>(c | 0x20) : c;
  const LineMessages found = messages_of(frame);
  EXPECT_THAT(keys_of(found.frame), HasSubstr("accept.no_enq=true"));
  EXPECT_THAT(keys_of(found.frame), HasSubstr("accept.no_eot=true"));
}

TEST(LineMessages, AreNoneWhereTheSenderOnlyAsks) {
  const LineMessages found = messages_of("\x05\x05");
  EXPECT_EQ(keys_of(found.frame), "kind=astm");
  EXPECT_THAT(found.messages, IsEmpty());
  EXPECT_THAT(found.evidence, Contains(HasSubstr("waits for acknowledgements")));
  EXPECT_TRUE(found.waits_for_answer);
}

// Exclusive or of "A05@" and ETX: 41 30 35 40 03 give 07; of "A07@": 05, which is ENQ by itself.
TEST(LineMessages, AreBlocksThoughACheckIsTheByteOfAnEnquiry) {
  std::string stream = xor8_block("A07@");
  ASSERT_EQ(stream.back(), '\x05');
  for (int i = 0; i < 12; ++i) stream += xor8_block("B" + std::to_string(i * i));
  const LineMessages found = messages_of(stream);
  EXPECT_EQ(keys_of(found.frame), "kind=block check=xor8");
  EXPECT_THAT(found.messages, SizeIs(13));
}

TEST(FrameMarks, TellACaptureFromAFile) {
  EXPECT_TRUE(has_frame_marks("\x02R1042\x03"));
  EXPECT_FALSE(has_frame_marks("no;item\n1;R1042\n"));
  EXPECT_FALSE(has_frame_marks("PK\x03\x04\x02\x03"s));
}

}  // namespace
}  // namespace girdle::draft
