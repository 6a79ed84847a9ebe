#include "kit/saved_state.h"

#include <gtest/gtest.h>

namespace girdle::kit {
namespace {

TEST(SavedState, GivesBackWhatWasWritten) {
  std::string bytes;
  StateWriter(bytes, 3, 7)
      .number(0)
      .number(UINT64_MAX)
      .text("")
      .text(std::string_view("a\0b", 3))
      .number(1);
  StateParser state(bytes, 3, 7);
  EXPECT_EQ(state.number(), 0u);
  EXPECT_EQ(state.number(), UINT64_MAX);
  EXPECT_EQ(state.text(), "");
  EXPECT_EQ(state.text(), std::string_view("a\0b", 3));
  EXPECT_TRUE(state.flag());
  EXPECT_TRUE(state.done());
}

TEST(SavedState, IsRefusedWhereAnythingDiffers) {
  std::string bytes;
  StateWriter(bytes, 3, 7).number(5);
  EXPECT_FALSE(StateParser(bytes, 4, 7).good());
  EXPECT_FALSE(StateParser(bytes, 3, 8).good());
  StateParser unread(bytes, 3, 7);
  EXPECT_FALSE(unread.done());
  EXPECT_EQ(StateParser(bytes, 3, 7).number(4), 0u);
  StateParser short_text(bytes, 3, 7);
  EXPECT_EQ(short_text.text(), "");
  EXPECT_FALSE(short_text.good());
  EXPECT_FALSE(StateParser(bytes.substr(0, 10), 3, 7).good());
}

TEST(SavedState, FingerprintIsFnv1aWithSeparators) {
  // FNV-1a, 64 bits, of the bytes "a" FF: computed by hand from the published basis and prime.
  uint64_t value = 0xcbf29ce484222325;
  value = (value ^ 'a') * 1099511628211u;
  EXPECT_EQ(value, 0xaf63dc4c8601ec8cu);  // the published FNV-1a of "a"
  value = (value ^ 0xFF) * 1099511628211u;
  EXPECT_EQ(Fingerprint().add("a").value(), value);
  EXPECT_NE(Fingerprint().add("ab").add("c").value(), Fingerprint().add("a").add("bc").value());
}

}  // namespace
}  // namespace girdle::kit
