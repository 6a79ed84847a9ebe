#include "json/json_pointer.h"

#include <gmock/gmock.h>

namespace girdle::json {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(JsonPointer, ReadsTheExamplesOfRfc6901) {
  // RFC 6901, section 5.
  EXPECT_THAT(*pointer_tokens(""), IsEmpty());
  EXPECT_THAT(*pointer_tokens("/foo"), ElementsAre("foo"));
  EXPECT_THAT(*pointer_tokens("/foo/0"), ElementsAre("foo", "0"));
  EXPECT_THAT(*pointer_tokens("/"), ElementsAre(""));
  EXPECT_THAT(*pointer_tokens("/a~1b"), ElementsAre("a/b"));
  EXPECT_THAT(*pointer_tokens("/c%d"), ElementsAre("c%d"));
  EXPECT_THAT(*pointer_tokens("/k\"l"), ElementsAre("k\"l"));
  EXPECT_THAT(*pointer_tokens("/ "), ElementsAre(" "));
  EXPECT_THAT(*pointer_tokens("/m~0n"), ElementsAre("m~n"));
  EXPECT_THAT(*pointer_tokens("/~01"), ElementsAre("~1"));  // section 4
}

TEST(JsonPointer, RefusesWhatTheGrammarDoesNotHave) {
  for (const char* bad : {"a", "a/b", "/~", "/~2", "/a~/b"})
    EXPECT_FALSE(pointer_tokens(bad)) << bad;
}

TEST(JsonPointer, WritesWhatItReads) {
  std::string pointer;
  for (const char* name : {"", "a/b", "m~n", "~1"}) append_token(name, pointer);
  EXPECT_EQ(pointer, "//a~1b/m~0n/~01");
  EXPECT_THAT(*pointer_tokens(pointer), ElementsAre("", "a/b", "m~n", "~1"));
}

}  // namespace
}  // namespace girdle::json
