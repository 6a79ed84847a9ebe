#include "json/context.h"

#include <gmock/gmock.h>

namespace girdle::json {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::vector<ContextWay> ways(std::string_view list) {
  std::string refusal;
  std::optional<std::vector<ContextWay>> found = context_ways(list, refusal);
  EXPECT_EQ(refusal, "");
  return found.value();
}

// A member that comes inside of `level` + 1 objects.
bool keep(Context& context, size_t level, const std::string& name, const std::string& value) {
  RecordFields fields(100);
  const std::string readable = value + std::string(kReadableAfter, ' ');
  const auto fault = fields.read_member(name, std::string_view(readable).substr(0, value.size()));
  EXPECT_EQ(fault, std::nullopt);
  return context.keep(level, name, fields);
}

std::vector<std::string> at(Context& context, size_t objects) {
  std::vector<std::string> got;
  const GivenFields& given = context.at(objects);
  for (size_t i = 0; i < given.names.size(); ++i) {
    got.push_back(std::string(given.names[i].data, given.names[i].size) + "=" +
                  std::string(given.values[i].data, given.values[i].size));
  }
  if (context.lacking() != nullptr) got.push_back("lacks " + context.lacking()->text());
  return got;
}

TEST(ContextWays, AreDotsAndAPointer) {
  const std::vector<ContextWay> list = ways(" ../site , ../../device/a~1b?,../../../~0");
  ASSERT_EQ(list.size(), 3u);
  EXPECT_EQ(list[0].levels_up, 1u);
  EXPECT_EQ(list[0].member, "site");
  EXPECT_EQ(list[0].text(), "../site");
  EXPECT_FALSE(list[0].may_lack);
  EXPECT_EQ(list[1].levels_up, 2u);
  EXPECT_EQ(list[1].member, "device");
  EXPECT_EQ(list[1].pointer, "/device/a~1b");
  EXPECT_TRUE(list[1].may_lack);
  EXPECT_EQ(list[2].member, "~");
  EXPECT_THAT(ways(""), IsEmpty());
}

TEST(ContextWays, RefusesWhatLeadsNowhere) {
  for (const char* bad :
       {"site", "/site", "..", "../", "../../", ",", "../a~2", "../?", "./a", "..a"}) {
    std::string refusal;
    EXPECT_FALSE(context_ways(bad, refusal)) << bad;
    EXPECT_THAT(refusal, HasSubstr("context: must be")) << bad;
  }
}

TEST(ContextWays, RefusesFieldsThatWouldComeTwice) {
  for (const char* bad : {"../a, ../a", "../a/b, ../a", "../a?, ../a/b"}) {
    std::string refusal;
    EXPECT_FALSE(context_ways(bad, refusal)) << bad;
    EXPECT_THAT(refusal, HasSubstr("name the same fields")) << bad;
  }
  EXPECT_EQ(ways("../a, ../../a, ../ab, ../b/a").size(), 4u);
}

TEST(Context, GivesFieldsOfTheObjectsAroundARecord) {
  Context context(ways("../a, ../../b"), 1000);
  keep(context, 0, "b", "{\"c\":[1,\"x\"]}");
  keep(context, 1, "a", "2");
  EXPECT_THAT(at(context, 2), ElementsAre("../a=2", "../../b/c/0=1", "../../b/c/1=x"));
  EXPECT_THAT(at(context, 1), ElementsAre("lacks ../a"));
  EXPECT_THAT(at(context, 0), ElementsAre("lacks ../a"));
}

TEST(Context, ForgetsWhatHasEnded) {
  Context context(ways("../a, ../../b"), 1000);
  keep(context, 0, "b", "1");
  keep(context, 1, "a", "2");
  context.leave(1);
  EXPECT_THAT(at(context, 2), ElementsAre("../../b=1", "lacks ../a"));
  keep(context, 1, "a", "3");
  EXPECT_THAT(at(context, 2), ElementsAre("../a=3", "../../b=1"));
}

TEST(Context, LacksOnlyWhatMustBeThere) {
  Context context(ways("../a?, ../b, ../c/d"), 1000);
  keep(context, 0, "b", "null");  // there, without a value
  keep(context, 0, "c", "{\"e\":1}");
  EXPECT_THAT(at(context, 1), ElementsAre("lacks ../c/d"));
}

TEST(Context, TellsTheFirstOfAName) {
  Context context(ways("../a"), 1000);
  EXPECT_TRUE(context.is_first(0, "a"));
  EXPECT_TRUE(context.is_first(1, "a"));
  EXPECT_FALSE(context.is_first(1, "a"));
  context.leave(1);
  EXPECT_TRUE(context.is_first(1, "a"));
  EXPECT_FALSE(context.is_first(0, "a"));
}

TEST(Context, TellsWhatComesTooLate) {
  Context context(ways("../a?, ../../b?, ../c"), 1000);
  EXPECT_EQ(context.comes_late(1, "a"), std::nullopt);
  context.at(2);  // a record
  EXPECT_EQ(context.comes_late(1, "a"), "../a");
  EXPECT_EQ(context.comes_late(0, "b"), "../../b");
  EXPECT_EQ(context.comes_late(0, "a"), std::nullopt);
  EXPECT_EQ(context.comes_late(1, "c"), std::nullopt);  // the records were set aside
  context.leave(1);
  EXPECT_EQ(context.comes_late(1, "a"), std::nullopt);
}

TEST(Context, KeepsNoMoreThanItsLimit) {
  Context context(ways("../a, ../b?"), 20);
  EXPECT_TRUE(keep(context, 0, "a", "12345678"));  // and four bytes of name
  EXPECT_FALSE(keep(context, 0, "b", "[1,23]"));
  EXPECT_THAT(at(context, 1), ElementsAre("../a=12345678"));
  EXPECT_TRUE(keep(context, 0, "b", "1"));
}

TEST(Context, GoesOnFromWhatWasSaved) {
  Context context(ways("../a, ../../b?"), 1000);
  context.is_first(0, "b");
  keep(context, 0, "b", "{\"c\":1}");
  keep(context, 1, "a", "{}");
  context.at(2);
  std::string saved;
  kit::StateWriter writer(saved, 1, 2);
  context.save(writer);
  Context other(ways("../a, ../../b?"), 1000);
  kit::StateParser parser(saved, 1, 2);
  other.take_up(parser);
  EXPECT_TRUE(parser.done());
  EXPECT_THAT(at(other, 2), ElementsAre("../../b/c=1"));
  EXPECT_FALSE(other.is_first(0, "b"));
  EXPECT_EQ(other.comes_late(0, "b"), "../../b");
}

}  // namespace
}  // namespace girdle::json
