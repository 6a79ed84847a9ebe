#include "intake/parity_marks.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace girdle::intake {
namespace {

// termios(3), PARMRK: "a bad byte is passed as \377 \0 byte, and a valid byte \377 as \377 \377".
class Recorded final : public framing::Framer {
 public:
  void feed(std::string_view bytes, framing::FrameSink&) override { text += bytes; }
  void feed_damaged(char byte, framing::FrameSink&) override {
    text += std::string("<") + byte + ">";
  }
  void reset(framing::FrameSink&) override {}
  uint64_t pending() const override { return 0; }

  std::string text;
};

class NoFrames final : public framing::FrameSink {
 public:
  void frame(const framing::Frame&) override {}
  void fault(const framing::Fault&) override {}
};

std::string decoded(const std::vector<std::string>& reads) {
  Recorded framer;
  NoFrames sink;
  ParityMarks marks;
  for (const std::string& read : reads) marks.feed(read, framer, sink);
  return framer.text;
}

TEST(ParityMarks, PassesPlainBytes) { EXPECT_EQ(decoded({"abc\r\n"}), "abc\r\n"); }

TEST(ParityMarks, MakesOneByteOfADoubledFf) {
  EXPECT_EQ(decoded({"a\xFF\xFF"
                     "b"}),
            "a\xFF"
            "b");
}

TEST(ParityMarks, TellsAByteThatCameWrong) {
  EXPECT_EQ(decoded({std::string("a\xFF\0Xb", 5)}), "a<X>b");
  EXPECT_EQ(decoded({std::string("\xFF\0\xFF\xFF\xFF", 5)}), "<\xFF>\xFF");
}

TEST(ParityMarks, TellsABreakAsAZeroThatCameWrong) {
  EXPECT_EQ(decoded({std::string("a\xFF\0\0b", 5)}), std::string("a<\0>b", 5));
}

TEST(ParityMarks, GivesTheSameHoweverTheMarksAreSplit) {
  const std::string raw(
      "a\xFF\xFF"
      "b\xFF\0Xc\xFF\0\0",
      11);
  const std::string whole = decoded({raw});
  for (size_t i = 0; i <= raw.size(); ++i) {
    for (size_t j = i; j <= raw.size(); ++j) {
      ASSERT_EQ(decoded({raw.substr(0, i), raw.substr(i, j - i), raw.substr(j)}), whole)
          << i << " " << j;
    }
  }
}

TEST(ParityMarks, TakesAnFfThatIsNotDoubledAsItIs) {
  EXPECT_EQ(decoded({"a\xFF"
                     "b"}),
            "a\xFF"
            "b");
}

}  // namespace
}  // namespace girdle::intake
