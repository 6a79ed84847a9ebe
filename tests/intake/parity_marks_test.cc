#include "intake/parity_marks.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace girdle::intake {
namespace {

// termios(3), PARMRK: "a bad byte is passed as \377 \0 byte, and a valid byte \377 as \377 \377".
class Recorded final : public LineDesk {
 public:
  void feed(std::string_view bytes) override { text += bytes; }
  void feed_damaged(char byte) override { text += std::string("<") + byte + ">"; }
  void lost() override {}
  boost::asio::awaitable<void> hand_over() override { co_return; }
  SteadyTime next_due() const override { return SteadyTime::max(); }
  bool is_full() const override { return false; }
  size_t in_flight() const override { return 0; }
  uint64_t unfinished() const override { return 0; }
  size_t waiting() const override { return 0; }

  std::string text;
};

std::string decoded(const std::vector<std::string>& reads) {
  Recorded desk;
  ParityMarks marks;
  for (const std::string& read : reads) marks.feed(read, desk);
  return desk.text;
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
