// The notation is our own, its marks XPath's: common practice, no source.
#include "xml/element_path.h"

#include <gmock/gmock.h>

namespace girdle::xml {
namespace {

using testing::ElementsAre;
using testing::Optional;

TEST(ElementPath, IsNamesFromTheOutermostOn) {
  EXPECT_THAT(path_names("/export/g:stones/stone"),
              Optional(ElementsAre("export", "g:stones", "stone")));
  EXPECT_THAT(path_names("/a"), Optional(ElementsAre("a")));
  for (const char* path :
       {"", "a", "/", "//a", "/a/", "/a//b", "/a b", "/1", "/*", "/a/@b", "/a[1]", " /a"})
    EXPECT_EQ(path_names(path), std::nullopt) << path;
  std::string deep;
  for (int i = 0; i < 32; ++i) deep += "/a";
  EXPECT_TRUE(path_names(deep));
  EXPECT_FALSE(path_names(deep + "/a"));
}

TEST(ContextPaths, BeginAtAnElementAroundTheRecord) {
  const auto context = context_paths(" ../device , ../../g:head/x/@y?,../@at", 3);
  ASSERT_TRUE(context);
  ASSERT_EQ(context->size(), 3u);
  EXPECT_EQ((*context)[0].levels_up, 1u);
  EXPECT_EQ((*context)[0].element, "device");
  EXPECT_EQ((*context)[0].name, "../device");
  EXPECT_FALSE((*context)[0].may_be_missing);
  EXPECT_EQ((*context)[1].levels_up, 2u);
  EXPECT_EQ((*context)[1].element, "g:head");
  EXPECT_EQ((*context)[1].name, "../../g:head/x/@y");
  EXPECT_TRUE((*context)[1].may_be_missing);
  EXPECT_EQ((*context)[2].element, "");
  EXPECT_EQ((*context)[2].name, "../@at");
  EXPECT_TRUE(context_paths(" ", 1)->empty());
  for (const char* list :
       {"device", "../", "../a//b", "../a/", "../@a/b", "../a[1]", "../../../a", "../a,", ",../a",
        "../a,../a", "../a,../a?", "../a ../b", "../a ?", "?", "../."})
    EXPECT_FALSE(context_paths(list, 3)) << list;
  EXPECT_FALSE(context_paths("../a", 1));
}

TEST(ContextPaths, LeadToFieldsAndToWhatLiesInThem) {
  const ContextPath path = (*context_paths("../a/b", 2))[0];
  for (const char* field : {"../a/b", "../a/b/@c", "../a/b/c", "../a/b[2]"})
    EXPECT_TRUE(path.leads_to(field)) << field;
  for (const char* field : {"../a", "../a/bc", "../a/@b", "a/b", "../../a/b"})
    EXPECT_FALSE(path.leads_to(field)) << field;
}

TEST(ElementPath, ComparesNamesAsTheyAreWritten) {
  ElementPath path;
  EXPECT_TRUE(path.is("g:a", "g:a"));
  EXPECT_FALSE(path.is("g:a", "a"));
  EXPECT_FALSE(path.is("A", "a"));
  path.any_prefix = true;
  EXPECT_TRUE(path.is("g:a", "a"));
  EXPECT_TRUE(path.is("a", "a"));
  EXPECT_FALSE(path.is("g:b", "a"));
}

}  // namespace
}  // namespace girdle::xml
