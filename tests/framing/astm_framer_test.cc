#include "framing/astm_framer.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "astm_recorder.h"
#include "recorder.h"

namespace girdle::framing {
namespace {

using config::AstmDeviation;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

std::vector<std::string> said(std::string_view stream,
                              const std::vector<AstmDeviation>& accept = {}) {
  return said_of(astm_settings(accept), stream).said;
}

// The one thing that a stream says when nothing is accepted.
std::string refusal(std::string_view stream) {
  const auto all = said(stream);
  return all.size() == 1 ? all[0] : "not one sign but " + std::to_string(all.size());
}

// A published frame: hendricksongroup.com/code_003.aspx, "Calculating the checksum of an ASTM
// document". The deviations of it below were computed from it by hand.
const std::string kText =
    "R|2|^^^1.0000+950+1.0|15|||^5^||V||34001637|20080516153540|20080516153602|34001637\r";
std::string published(std::string_view text, std::string_view rest) {
  return "\x02" + ("5" + std::string(text)) + "\x03" + std::string(rest);
}

// python-astm 0.5's tests (BSD), github kxepal/python-astm @606a774: astm/tests/test_codecs.py (the
// first four; the second is windows-1251 and counts the bytes on the wire) and test_client.py (the
// rest).
TEST(AstmFramer, ReadsPublishedFrames) {
  const auto one = [](std::string_view bytes) { return said(unhex(bytes), {}).at(0); };
  EXPECT_EQ(one("0231417c427c437c440d0342460d0a"), "1:A|B|C|D\r<ETX>");
  EXPECT_EQ(one("0231c97cd67cd37cca0d0346310d0a"), "1:\xC9|\xD6|\xD3|\xCA\r<ETX>");
  EXPECT_EQ(one("0231666f6f7c310d0333320d0a"), "1:foo|1\r<ETX>");
  EXPECT_EQ(one("023362617a7c330d0332460d0a"), "3:baz|3\r<ETX>");
  EXPECT_EQ(one("0232417c300d0332460d0a"), "2:A|0\r<ETX>");
  EXPECT_EQ(one("0231480d0338390d0a"), "1:H\r<ETX>");
  EXPECT_EQ(one("0232500d0339320d0a"), "2:P\r<ETX>");
  EXPECT_EQ(one("02344c0d0339300d0a"), "4:L\r<ETX>");
  EXPECT_EQ(one("0231487c666f6f1735300d0a"), "1:H|foo<ETB>");
  EXPECT_EQ(one("02334c7c6261721734370d0a"), "3:L|bar<ETB>");
  EXPECT_EQ(one("02347c62617a0d0346440d0a"), "4:|baz\r<ETX>");
  EXPECT_EQ(one("02327c6261720d1730370d0a"), "2:|bar\r<ETB>");
  EXPECT_EQ(one("0231410d0338320d0a"), "1:A\r<ETX>");
  EXPECT_EQ(one("0235450d0338410d0a"), "5:E\r<ETX>");
  EXPECT_EQ(one("0230480d0338380d0a"), "0:H\r<ETX>");
  EXPECT_EQ(one("0231490d0338410d0a"), "1:I\r<ETX>");
}

TEST(AstmFramer, ReadsThePublishedWorkedExample) {
  EXPECT_THAT(said(published(kText, "3D\r\n")), ElementsAre("5:" + kText + "<ETX>"));
}

// The ten frames of the figure with two patients and four results in CLSI LIS02-A2, one record a
// frame; the checksums were computed outside of this program.
TEST(AstmFramer, ReadsAMessageOfOneRecordAFrame) {
  const char* frames[] = {
      "0231487c5c5e260d0345350d0a",
      "0232507c310d0333460d0a",
      "02334f7c317c3932373532397c7c5e5e5e41315c5e5e5e41320d0336410d0a",
      "0234527c317c5e5e5e41317c302e3239357c7c7c7c7c7c7c7c31393839303332373133323234370d0337460d0a",
      "0235527c327c5e5e5e41327c302e3331327c7c7c7c7c7c7c7c31393839303332373133323234380d0337390d0a",
      "0236507c327c0d0343300d0a",
      "02374f7c317c3932373533337c7c5e5e5e41335c5e5e5e41340d0336440d0a",
      "0230527c317c5e5e5e41337c312e3132317c7c7c7c7c7c7c7c31393839303332373133323432320d0336440d0a",
      "0231527c327c5e5e5e41347c312e3039377c7c7c7c7c7c7c7c31393839303331373133323432320d0337420d0a",
      "02324c7c310d0333420d0a"};
  std::string stream = "\x05";
  for (const char* frame : frames) stream += unhex(frame);
  const auto all = said(stream + "\x04");
  ASSERT_EQ(all.size(), 12u);
  EXPECT_EQ(all.front(), "<ENQ>");
  EXPECT_EQ(all[1], "1:H|\\^&\r<ETX>");
  EXPECT_EQ(all[3], "3:O|1|927529||^^^A1\\^^^A2\r<ETX>");
  EXPECT_EQ(all[8], "0:R|1|^^^A3|1.121||||||||19890327132422\r<ETX>");
  EXPECT_EQ(all.back(), "<EOT>");
  for (const std::string& one : all) EXPECT_THAT(one, testing::Not(HasSubstr("broken"))) << one;
}

// Computed by hand: two frames with digits exchanged have the same sum. It is no proof of content.
TEST(AstmFramer, CannotTellDigitsThatWereExchanged) {
  EXPECT_THAT(said(unhex("0231527c317c577c312e32350d0335350d0a")),
              ElementsAre("1:R|1|W|1.25\r<ETX>"));
  EXPECT_THAT(said(unhex("0231527c317c577c312e35320d0335350d0a")),
              ElementsAre("1:R|1|W|1.52\r<ETX>"));
}

TEST(AstmFramer, BreaksAFrameWithAWrongChecksum) {
  EXPECT_EQ(refusal(published(kText, "3E\r\n")),
            "broken: the checksum of this frame is 3D, the line says 3E");
  EXPECT_THAT(refusal(published(kText, "Z1\r\n")), HasSubstr("no checksum of two hexadecimal"));
  EXPECT_THAT(refusal(published(kText, "3\r\n")), HasSubstr("no checksum of two hexadecimal"));
  // A published shortcut adds 10 hex for CR and ETX, which fits no frame that ends otherwise
  // (aspsnippets.com/questions/104808): A1 for this one, whose sum is A8.
  EXPECT_EQ(refusal(unhex("0231666f6f7c310d621741310d0a")).substr(0, 63),
            "broken: the checksum of this frame is A8, the line says A1");
}

// What senders are known to do otherwise (common practice, no source), each by its switch: taken
// with it, told with it, and refused with its name without it.
struct Case {
  AstmDeviation deviation;
  std::string stream;
  std::string taken;
};

std::vector<Case> cases() {
  using D = AstmDeviation;
  const std::string whole = "5:" + kText + "<ETX>";
  const std::string bare = kText.substr(0, kText.size() - 1);
  return {
      {D::kChecksumWithStx, published(kText, "3F\r\n"), whole},
      {D::kChecksumWithoutEnd, published(kText, "3A\r\n"), whole},
      {D::kLowerCase, published(kText, "3d\r\n"), whole},
      {D::kNoChecksum, published(kText, "\r\n"), whole},
      {D::kNoCr, published(bare, "30\r\n"), "5:" + bare + "<ETX>"},
      {D::kNoCrlf, published(kText, "3D") + "\x04", whole},
      {D::kSeveralRecords, astm_frame(1, "P|1\rO|1\r"), "1:P|1\rO|1\r<ETX>"},
      {D::kSplitRecords, astm_frame(1, "R|1|0.2"), "1:R|1|0.2<ETX>"},
  };
}

TEST(AstmFramer, TakesEachDeviationWhereItIsAccepted) {
  for (const Case& one : cases()) {
    const auto name = std::string(config::kAstmDeviationNames[static_cast<size_t>(one.deviation)]);
    const auto all = said(one.stream, {one.deviation});
    ASSERT_FALSE(all.empty()) << name;
    EXPECT_EQ(all[0], one.taken + " " + name);
  }
}

TEST(AstmFramer, NamesTheSwitchOfADeviationThatIsNotAccepted) {
  for (const Case& one : cases()) {
    if (one.deviation == AstmDeviation::kSplitRecords) continue;  // it looks like no_cr
    const auto name = std::string(config::kAstmDeviationNames[static_cast<size_t>(one.deviation)]);
    const auto all = said(one.stream);
    ASSERT_FALSE(all.empty()) << name;
    EXPECT_THAT(all[0], StartsWith("broken: ")) << name;
    EXPECT_THAT(all[0], HasSubstr("accept: { " + name + ": true }")) << name;
  }
}

TEST(AstmFramer, CountsSeveralDeviationsOfOneFrame) {
  using D = AstmDeviation;
  EXPECT_THAT(said("\x02"
                   "1A\rB\x03"
                   "e5\x04",
                   {D::kLowerCase, D::kNoCr, D::kNoCrlf, D::kSeveralRecords, D::kChecksumWithStx}),
              ElementsAre("broken: the checksum of this frame is C4, the line says E5", "<EOT>"));
  EXPECT_THAT(said("\x02"
                   "1A\rB\x03"
                   "c4\x04",
                   {D::kLowerCase, D::kNoCr, D::kNoCrlf, D::kSeveralRecords}),
              ElementsAre("1:A\rB<ETX> lower_case no_cr no_crlf several_records", "<EOT>"));
}

TEST(AstmFramer, TakesEitherHalfOfCrLfAsMissing) {
  const std::string frame = astm_frame(1, "A\r");
  const std::string bare = frame.substr(0, frame.size() - 2);
  for (const std::string& ended : {bare + "\r", bare + "\n", bare}) {
    EXPECT_THAT(said(ended + "\x05", {AstmDeviation::kNoCrlf}),
                ElementsAre("1:A\r<ETX> no_crlf", "<ENQ>"));
    EXPECT_THAT(said(ended + bare + "\r\n", {AstmDeviation::kNoCrlf}),
                ElementsAre("1:A\r<ETX> no_crlf", "1:A\r<ETX>"));
  }
}

// LF is not allowed in a frame's text (LIS01-A2, 6.6.2, as the Perl library
// Epidermis-Protocol-CLSI-LIS cites it); behind a CR it says nothing.
TEST(AstmFramer, TakesCrLfInTheTextAsTheEndOfARecord) {
  EXPECT_THAT(said(astm_frame(1, "A\r\n")), ElementsAre("1:A\r\n<ETX>"));
}

TEST(AstmFramer, CutsAFrameShortAtWhateverBeginsAnew) {
  EXPECT_THAT(said("\x02"
                   "1R|1" +
                   astm_frame(1, "A\r")),
              ElementsAre("broken: a new frame began before the end of this one", "1:A\r<ETX>"));
  EXPECT_THAT(said("\x02"
                   "1R|1\x04"),
              ElementsAre("broken: EOT came before the end of this frame", "<EOT>"));
  EXPECT_THAT(said("\x02"
                   "1R|1\x05"),
              ElementsAre("broken: ENQ came before the end of this frame", "<ENQ>"));
  EXPECT_THAT(said("\x02"
                   "1R|1"),
              ElementsAre("broken: the line was lost before the end of this frame"));
}

TEST(AstmFramer, WantsANumberFrom0To7) {
  EXPECT_THAT(refusal(astm_frame(8, "A\r")), HasSubstr("no number from 0 to 7"));
  EXPECT_THAT(refusal("\x02\x03"
                      "03\r\n"),
              HasSubstr("no number from 0 to 7"));
}

TEST(AstmFramer, TellsJunkBetweenFramesAndPassesOverAnswersAndWhiteSpace) {
  EXPECT_THAT(
      said("AT+GMM\r" + astm_frame(1, "A\r") + "\r\n \x06\x15" + astm_frame(2, "B\r") + "x\x04"),
      ElementsAre("junk: AT+GMM\r", "1:A\r<ETX>", "2:B\r<ETX>", "junk: x", "<EOT>"));
}

TEST(AstmFramer, BoundsWhatItKeeps) {
  config::Framing settings = astm_settings();
  settings.max_bytes = 10;
  const auto junk = said_of(settings, std::string(100000, 'U') + astm_frame(1, "A\r"));
  EXPECT_THAT(junk.said, ElementsAre("junk: UUUUUUUUUU…", "1:A\r<ETX>"));
  const std::string long_text(100000, 'U');
  const auto frame = said_of(settings, astm_frame(1, long_text) + astm_frame(1, "123456789\r"));
  ASSERT_EQ(frame.said.size(), 2u);
  EXPECT_EQ(frame.said[0],
            "broken: the text of this frame is longer than 10 bytes; the frame's limit is max");
  EXPECT_LE(frame.longest, 15u);
  EXPECT_EQ(frame.said[1], "1:123456789\r<ETX>");
}

TEST(AstmFramer, BreaksAFrameWithADamagedByteWhereverItStands) {
  const std::string frame = astm_frame(1, "A|B\r");
  for (size_t at = 1; at + 2 < frame.size(); ++at) {
    AstmRecorder recorder;
    AstmFramer framer(astm_settings());
    framer.feed(frame.substr(0, at), recorder);
    framer.feed_damaged(frame[at], recorder);
    framer.feed(frame.substr(at + 1), recorder);
    framer.feed(astm_frame(1, "A|B\r"), recorder);
    ASSERT_EQ(recorder.said.size(), 2u) << at;
    EXPECT_THAT(recorder.said[0], HasSubstr("parity")) << at;
    EXPECT_EQ(recorder.said[1], "1:A|B\r<ETX>") << at;
  }
}

TEST(AstmFramer, IgnoresABreakBetweenFrames) {
  AstmRecorder recorder;
  AstmFramer framer(astm_settings());
  framer.feed_damaged('\0', recorder);
  framer.feed(astm_frame(1, "A\r"), recorder);
  EXPECT_THAT(recorder.said, ElementsAre("1:A\r<ETX>"));
  EXPECT_EQ(recorder.offsets[0], 1u);
}

// A sender that leaves CR LF or the checksum out waits for its answer behind the last byte that it
// sends: nothing else tells that the frame is complete.
TEST(AstmFramer, CompletesAFrameInASilenceWhereItsEndMayBeMissing) {
  using D = AstmDeviation;
  const auto quiet_after = [](std::string_view stream, const std::vector<D>& accept) {
    AstmRecorder recorder;
    AstmFramer framer(astm_settings(accept));
    framer.feed(stream, recorder);
    framer.quiet(recorder);
    return recorder.said;
  };
  const std::string no_end = published(kText, "3D");
  EXPECT_THAT(quiet_after(no_end, {D::kNoCrlf}), ElementsAre("5:" + kText + "<ETX> no_crlf"));
  EXPECT_THAT(quiet_after(no_end + "\r", {D::kNoCrlf}),
              ElementsAre("5:" + kText + "<ETX> no_crlf"));
  EXPECT_THAT(quiet_after(no_end, {}), IsEmpty());
  EXPECT_THAT(quiet_after(published(kText, "3"), {D::kNoCrlf, D::kNoChecksum}), IsEmpty());
  EXPECT_THAT(quiet_after(published(kText, ""), {D::kNoCrlf}), IsEmpty());
  EXPECT_THAT(quiet_after(published(kText, ""), {D::kNoChecksum}), IsEmpty());
  EXPECT_THAT(quiet_after(published(kText, ""), {D::kNoCrlf, D::kNoChecksum}),
              ElementsAre("5:" + kText + "<ETX> no_checksum no_crlf"));
  EXPECT_THAT(quiet_after("\x02"
                          "1R|1",
                          {D::kNoCrlf, D::kNoChecksum}),
              IsEmpty());
}

TEST(AstmFramer, TellsWhereInTheStreamAFrameBegan) {
  const auto recorder =
      said_of(astm_settings(), "\x05" + astm_frame(1, "A\r") + astm_frame(2, "B\r"));
  EXPECT_THAT(recorder.offsets, ElementsAre(1, 10));
}

// A stream of the bytes that matter, of whole frames and of frames that deviate.
std::string random_stream(std::mt19937_64& random) {
  static constexpr std::string_view kBytes = "\x02\x03\x04\x05\x06\x15\x17\r\n0129Aaf|x ";
  static const std::vector<Case> kCases = cases();
  std::string out;
  while (out.size() < 100) {
    switch (random() % 4) {
      case 0:
        out += astm_frame(static_cast<int>(random() % 8),
                          "A|" + std::to_string(random() % 100) + "\r");
        break;
      case 1:
        out += kCases[random() % kCases.size()].stream;
        break;
      case 2:
        out += kBytes[random() % kBytes.size()];
        break;
      case 3:
        for (uint64_t n = random() % 8; n > 0; --n) out += kBytes[random() % kBytes.size()];
        break;
    }
  }
  return out;
}

TEST(AstmFramer, GivesTheSameHoweverAStreamIsSplit) {
  std::mt19937_64 random(1);
  size_t frames = 0;
  for (int round = 0; round < 300; ++round) {
    const std::string stream = random_stream(random);
    config::Framing settings = astm_settings();
    settings.max_bytes = 100;
    for (size_t i = 0; i < settings.accept.size(); ++i) settings.accept[i] = random() % 2 == 0;
    const AstmRecorder whole = said_of(settings, stream);
    frames += whole.offsets.size();
    std::vector<size_t> every;
    for (size_t at = 1; at < stream.size(); ++at) every.push_back(at);
    EXPECT_EQ(said_of(settings, stream, every).said, whole.said) << round;
    for (size_t at = 0; at <= stream.size(); ++at) {
      const AstmRecorder split = said_of(settings, stream, {at});
      ASSERT_EQ(split.said, whole.said) << "round " << round << ", split at " << at;
      ASSERT_EQ(split.offsets, whole.offsets) << "round " << round << ", split at " << at;
    }
  }
  EXPECT_GT(frames, 1000u);  // the streams do hold frames
}

}  // namespace
}  // namespace girdle::framing
