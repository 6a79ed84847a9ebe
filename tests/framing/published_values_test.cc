// All values of checks/wire.json that concern this folder, where GIRDLE_SHARED names a folder that
// has it: each entry is looked at, and one of a new kind fails. Those that must hold everywhere are
// typed into the tests of their units.
#include <gmock/gmock.h>

#include <cstdio>

#include "astm_recorder.h"
#include "base/published_checks.h"
#include "framing/block_check.h"
#include "recorder.h"

namespace girdle::framing {
namespace {

using config::AstmDeviation;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

const char* const kStandFor =
    "GIRDLE_SHARED is not set; values typed into other tests stand for it";

uint64_t check_of(std::string_view name, std::string_view bytes) {
  return BlockCheck::create(name, false, false)->of(bytes);
}

std::string two_digits(uint64_t value) {
  char text[3];
  std::snprintf(text, sizeof text, "%02X", static_cast<unsigned>(value));
  return text;
}

config::Framing block(std::string start, std::string end, std::string check) {
  config::Framing settings;
  settings.kind = config::Framing::Kind::kBlock;
  settings.start = std::move(start);
  settings.end = std::move(end);
  settings.check = std::move(check);
  return settings;
}

// The one thing that a stream says where records may lie over frames in any way.
std::string said_of_frame(std::string_view stream,
                          std::vector<AstmDeviation> accept = {AstmDeviation::kSeveralRecords,
                                                               AstmDeviation::kSplitRecords}) {
  const auto all = said_of(astm_settings(accept), stream).said;
  return all.size() == 1 ? all[0] : "not one sign but " + std::to_string(all.size());
}

// "checksum BF, end (ETX) frame, FN 1", or "…, intermediate (ETB) frame, …".
void expect_frame(const PublishedCheck& check) {
  const size_t end = check.input.find_first_of("\x03\x17");
  const bool is_last = check.input[end] == '\x03';
  const std::string checksum = two_digits(check_of("sum8-hex", check.input.substr(1, end)));
  EXPECT_EQ("checksum " + checksum + (is_last ? ", end (ETX)" : ", intermediate (ETB)") +
                " frame, FN " + check.input[1],
            check.expected)
      << check.id;
  const std::string whole =
      check.input[1] + (":" + check.input.substr(2, end - 2)) + (is_last ? "<ETX>" : "<ETB>");
  EXPECT_THAT(said_of_frame(check.input), StartsWith(whole)) << check.id;
}

// What the file says of each in words.
void expect_deviation(const PublishedCheck& check) {
  if (check.id == "astm.dev.incl_stx") {
    EXPECT_THAT(check.expected, StartsWith("3F printed, 3D expected"));
    EXPECT_THAT(said_of_frame(check.input),
                StartsWith("broken: the checksum of this frame is 3D, the line says 3F"));
    EXPECT_THAT(said_of_frame(check.input, {AstmDeviation::kChecksumWithStx}),
                HasSubstr("<ETX> checksum_with_stx"));
  } else if (check.id == "astm.dev.no_cr") {
    EXPECT_THAT(check.expected, StartsWith("checksum 30 is valid"));
    EXPECT_THAT(said_of_frame(check.input, {}), HasSubstr("accept: { no_cr: true }"));
    EXPECT_THAT(said_of_frame(check.input, {AstmDeviation::kNoCr}), HasSubstr("<ETX> no_cr"));
  } else if (check.id == "astm.dev.const16") {
    EXPECT_THAT(check.expected, HasSubstr("it gives A1 instead of A8"));
    std::string other = check.input;
    other.replace(other.find("A8"), 2, "A1");
    EXPECT_THAT(said_of_frame(check.input), StartsWith("1:"));
    EXPECT_THAT(said_of_frame(other), StartsWith("broken: the checksum of this frame is A8"));
  } else {
    ADD_FAILURE() << "nothing looks at " << check.id;
  }
}

// Two frames of one checksum: neither is refused.
void expect_transposition(const PublishedCheck& check) {
  const size_t slash = check.input.find(" / ");
  ASSERT_NE(slash, check.input.npos);
  for (const std::string& one : {check.input.substr(0, slash), check.input.substr(slash + 3)})
    EXPECT_THAT(said_of_frame(bytes_of_hex(one)), StartsWith("1:R|1|W|1.")) << one;
}

// Bytes that the standard forbids in a text begin or end something, or are kept for the reader to
// judge; none is dropped.
void expect_restricted(const PublishedCheck& check) {
  std::string bytes;
  for (size_t at = 0; at < check.expected.size(); at += 3)
    bytes += bytes_of_hex(check.expected.substr(at, 2));
  EXPECT_EQ(bytes.size(), 15u);
  for (const char byte : bytes) {
    const std::string frame = astm_frame(1, std::string("a") + byte + "b\r");
    const auto all = said_of(astm_settings(), frame).said;
    const bool is_sign = std::string_view("\x02\x03\x04\x05\x17").find(byte) != std::string::npos;
    EXPECT_EQ(all[0] != "1:a" + std::string(1, byte) + "b\r<ETX>", is_sign) << int{byte};
  }
}

bool is_of_a_sender(const std::string& id) {  // a receiver has none of these timers
  return id == "astm.const.contention_computer_s" || id == "astm.const.busy_after_nak_s";
}

TEST(PublishedValues, OfE1381AllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  size_t of_senders = 0, of_the_reader = 0;
  const auto checks = published_checks("astm.");
  for (const PublishedCheck& check : checks) {
    if (check.id.starts_with("astm.dev.")) {
      expect_deviation(check);
    } else if (check.id == "astm.sum.utf8bytes") {
      EXPECT_THAT(check.expected, StartsWith(two_digits(check_of("sum8-hex", check.input))));
    } else if (check.id == "astm.weak.transposition") {
      expect_transposition(check);
    } else if (check.id == "astm.const.receiver_frame_s") {
      EXPECT_EQ(std::to_string(config::Framing().timeout.count() / 1000), check.expected);
    } else if (check.id == "astm.const.frame_e1381") {
      EXPECT_THAT(check.expected, HasSubstr("\"text\":240,\"whole_frame_incl_overhead\":247"));
      const std::string longest = astm_frame(1, std::string(239, 'a') + "\r");
      EXPECT_EQ(longest.size(), 247u);
      EXPECT_THAT(said_of_frame(longest), StartsWith("1:aaa"));
    } else if (check.id == "astm.const.restricted") {
      expect_restricted(check);
    } else if (check.id.starts_with("astm.esc.")) {
      ++of_the_reader;  // tests/plugins/astm/record_fields_test.cc has both
    } else if (is_of_a_sender(check.id)) {
      ++of_senders;
    } else {
      expect_frame(check);
    }
  }
  EXPECT_EQ(checks.size(), 32u);
  EXPECT_EQ(of_the_reader, 2u);
  EXPECT_EQ(of_senders, 2u);
}

TEST(PublishedValues, OfAMessageInFramesAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("lis02.");
  ASSERT_EQ(checks.size(), 1u);
  std::string records;
  size_t frames = 0;
  simdjson::dom::parser parser;
  const simdjson::padded_string json(checks[0].expected);
  for (const std::string_view frame : parser.parse(json).get_array()) {
    const auto all = said_of(astm_settings(), bytes_of_hex(frame)).said;
    ASSERT_THAT(all, ElementsAre(testing::EndsWith("<ETX>"))) << frame;
    EXPECT_EQ(all[0][0], static_cast<char>('0' + ++frames % 8)) << frame;
    records += all[0].substr(2, all[0].size() - 7);
  }
  EXPECT_EQ(frames, 10u);
  EXPECT_EQ(records, checks[0].input);
}

// `text "00": BCC = 03 = ETX; text "01" -> 02 (STX), "04" -> 07, …`: each text with its check,
// whose digits are the next two.
void expect_collisions(const PublishedCheck& check) {
  std::string_view rest = check.expected;
  size_t texts = 0;
  for (size_t at = rest.find('"'); at != rest.npos; at = rest.find('"'), ++texts) {
    const std::string text(rest.substr(at + 1, 2));
    rest.remove_prefix(rest.find_first_of("=>", at) + 2);
    const std::string stream = "\x02" + text + "\x03" + bytes_of_hex(rest.substr(0, 2));
    const auto said = cut(block("\x02", "\x03", "xor8"), stream + stream);
    ASSERT_EQ(said.size(), 2u) << text;
    for (const Said& one : said) EXPECT_TRUE(one.is_frame && one.bytes == text) << text;
  }
  EXPECT_EQ(texts, 9u);
}

TEST(PublishedValues, OfExclusiveOrAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("bcc.");
  for (const PublishedCheck& check : checks) {
    if (check.id == "bcc.collide") {
      expect_collisions(check);
    } else if (check.id == "bcc.soh77") {
      // The file has a 0 more than the manuals, whose frame is in block_check_test.cc.
      std::string frame = check.input;
      if (const size_t at = frame.find("001000064"); at != frame.npos) frame.erase(at, 1);
      const auto said = cut(block("\x01", "\x03", "xor8"), frame);
      ASSERT_EQ(said.size(), 1u);  // the CR behind it is white space
      EXPECT_TRUE(said[0].is_frame) << said[0].reason;
    } else if (check.id.starts_with("bcc.gnab")) {
      EXPECT_EQ(two_digits(check_of("xor8", check.input)), check.expected) << check.id;
    } else {  // SOH, not in the range; up to ETX, in the range; the check
      const auto said = cut(block("\x01", "\x03", "xor8"), check.input);
      ASSERT_EQ(said.size(), 1u) << check.id;
      EXPECT_EQ(said[0].is_frame, check.expected.starts_with("BCC ")) << check.id;
      const std::string right =
          check.expected.substr(check.expected.rfind("BCC ") + 4 + (said[0].is_frame ? 0 : 3), 2);
      const size_t end = check.input.find('\x03');
      EXPECT_EQ(two_digits(check_of("xor8", check.input.substr(1, end))), right) << check.id;
      if (!said[0].is_frame) {
        EXPECT_THAT(said[0].reason, HasSubstr("0x" + right)) << check.id;
      }
    }
  }
  EXPECT_EQ(checks.size(), 6u);
}

TEST(PublishedValues, OfWhatIsCalledLrcAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("lrc.");
  for (const PublishedCheck& check : checks) {
    if (check.id.starts_with("lrc.neg.")) {
      EXPECT_EQ(two_digits(check_of("neg-sum8", check.input)), check.expected) << check.id;
      continue;
    }
    ASSERT_EQ(check.id, "lrc.xor.same");
    EXPECT_EQ(two_digits(check_of("xor8", check.input)) + " (" +
                  two_digits(check_of("xor8", check.input.substr(1))) + " if the STX is left out)",
              check.expected);
  }
  EXPECT_EQ(checks.size(), 3u);
}

std::string hex(uint64_t value) {
  char text[20];
  std::snprintf(text, sizeof text, "0x%llx", static_cast<unsigned long long>(value));
  return text;
}
std::string truth(bool is_true) { return is_true ? "True" : "False"; }

// "0xa1 (w=8 poly=0x7 init=0x0 refin=False refout=False xorout=0x55 residue=0xac)".
TEST(PublishedValues, OfTheCrcCatalogueAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("crc.");
  for (const PublishedCheck& check : checks) {
    std::string name = check.id.substr(4);
    name[name.find('.')] = '/';
    const CrcParameters* const ours = find_crc(name);
    ASSERT_NE(ours, nullptr) << name;
    EXPECT_THAT(check.expected,
                StartsWith(hex(Crc(*ours).of(check.input)) + " (w=" + std::to_string(ours->width) +
                           " poly=" + hex(ours->poly) + " init=" + hex(ours->init) +
                           " refin=" + truth(ours->refin) + " refout=" + truth(ours->refout) +
                           " xorout=" + hex(ours->xorout) + " residue="))
        << check.id;
  }
  EXPECT_EQ(checks.size(), 16u);
}

// The bytes that the digits between the colon and the end of a Modbus ASCII frame spell.
std::string spelled(std::string_view frame) {
  return bytes_of_hex(frame.substr(1, frame.size() - 3));
}

void expect_modbus(const PublishedCheck& check) {
  const BlockCheck crc = *BlockCheck::create("CRC-16/MODBUS", false, true);
  const auto on_the_wire = [&](std::string_view bytes) {
    const uint64_t value = crc.of(bytes);
    return two_digits(value & 0xFF) + " " + two_digits(value >> 8);
  };
  const auto all_but = [&](std::string_view bytes, size_t end) {
    return bytes.substr(0, bytes.size() - end);
  };
  if (check.id.starts_with("modbus.rtu.")) {
    const std::string_view body = all_but(check.input, 2);
    EXPECT_EQ(crc.read(check.input.substr(body.size())), crc.of(body)) << check.id;
  } else if (check.id.starts_with("modbus.ascii.") || check.id == "modbus.badpub.030800") {
    const std::string bytes = spelled(check.input);
    const std::string right = two_digits(check_of("neg-sum8", all_but(bytes, 1)));
    const bool is_right = right == two_digits(static_cast<uint8_t>(bytes.back()));
    EXPECT_EQ(is_right, check.expected == "LRC valid") << check.id;
    EXPECT_TRUE(is_right || check.expected.starts_with("LRC should be " + right)) << check.id;
  } else if (check.id == "modbus.17") {
    EXPECT_EQ("RTU CRC " + on_the_wire(check.input) + "; ASCII LRC " +
                  two_digits(check_of("neg-sum8", check.input)),
              check.expected);
  } else if (check.id == "modbus.swap") {
    EXPECT_THAT(check.expected, HasSubstr("numeric CRC " + crc.text(crc.of(check.input)) +
                                          ", wire order " + on_the_wire(check.input)));
  } else {
    EXPECT_EQ(on_the_wire(check.input), check.expected) << check.id;
  }
}

TEST(PublishedValues, OfModbusAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("modbus.");
  for (const PublishedCheck& check : checks) expect_modbus(check);
  EXPECT_EQ(checks.size(), 15u);
}

// As the framer reads them: from $ to *, neither in the range, then two digits.
config::Framing nmea() {
  config::Framing settings = block("$", "*", "xor8");
  settings.check_hex = true;
  settings.check_with_end = false;
  return settings;
}

// NMEA 0183 sentences of pynmea2's tests (MIT), github Knio/pynmea2 @13e309b; the last is of a web
// page, which printed a wrong check.
TEST(BlockFramer, ReadsPublishedNmeaSentences) {
  for (const std::string text : {"WIMTA,010.0,C", "GPVTG,,T,,M,0.00,N"}) {
    const std::string check = text[0] == 'W' ? "2A" : "1B";
    const auto said = cut(nmea(), "$" + text + "*" + check + "\r\n");
    ASSERT_EQ(said.size(), 1u) << text;
    EXPECT_TRUE(said[0].is_frame && said[0].bytes == text) << said[0].reason;
  }
  const auto wrong = cut(nmea(), "$HEHDT,178.3,T*1E\r\n");
  ASSERT_EQ(wrong.size(), 1u);
  EXPECT_THAT(wrong[0].reason, HasSubstr("0x22"));
}

TEST(PublishedValues, OfNmeaAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("nmea.");
  for (const PublishedCheck& check : checks) {
    const size_t end = check.input.find('*');
    const std::string text = check.input.substr(1, end - 1);
    const std::string right = two_digits(check_of("xor8", text));
    const auto said = cut(nmea(), check.input);
    ASSERT_EQ(said.size(), 1u) << check.id;
    if (check.id == "nmea.badpub") {
      EXPECT_THAT(check.expected, StartsWith("correct checksum is " + right));
      EXPECT_THAT(said[0].reason, HasSubstr("0x" + right));
      continue;
    }
    EXPECT_EQ(right, check.expected) << check.id;
    EXPECT_TRUE(said[0].is_frame && said[0].bytes == text) << check.id << said[0].reason;
  }
  EXPECT_EQ(checks.size(), 7u);
}

}  // namespace
}  // namespace girdle::framing
