// XML 1.0 (fifth edition): 2.4 text, 2.5 comments, 2.6 instructions, 3.1 tags, 4.1 references, 4.6
// the five entities.
#include "xml/markup.h"

#include <gmock/gmock.h>

namespace girdle::xml {
namespace {

using testing::HasSubstr;
using testing::SizeIs;

std::string fault(std::string_view tag) { return TagParser().parse(tag); }

TEST(Tags, AreTakenApart) {
  TagParser tag;
  EXPECT_EQ(tag.parse("<g:stone id = \"R1042\"\n note='a \"b\" >'/>"), "");
  EXPECT_EQ(tag.name(), "g:stone");
  ASSERT_THAT(tag.attributes(), SizeIs(2));
  EXPECT_EQ(tag.attributes()[0].name, "id");
  EXPECT_EQ(tag.attributes()[0].value, "R1042");
  EXPECT_EQ(tag.attributes()[1].value, "a \"b\" >");
  EXPECT_EQ(tag.parse("<a>"), "");
  EXPECT_THAT(tag.attributes(), SizeIs(0));
  EXPECT_EQ(tag.parse("<a/>"), "");
  EXPECT_EQ(tag.parse("<a b=''/>"), "");
  EXPECT_EQ(tag.attributes()[0].value, "");
}

TEST(Tags, AreRefusedWhereTheyAreNotWellFormed) {
  EXPECT_THAT(fault("<1>"), HasSubstr("without a name"));
  EXPECT_THAT(fault("<a b>"), HasSubstr("has no value"));
  EXPECT_THAT(fault("<a b=1>"), HasSubstr("not in quotes"));
  EXPECT_THAT(fault("<a b='1'c='2'>"), HasSubstr("no white space"));
  EXPECT_THAT(fault("<a b='1' 2='2'>"), HasSubstr("is no attribute"));
  EXPECT_THAT(fault("<a/ >"), HasSubstr("no white space"));
  EXPECT_THAT(fault("<a b='1' c='2' b='3'>"), HasSubstr("\"b\" comes twice"));
  EXPECT_THAT(fault("<a b='1&2'>"), HasSubstr("&amp;"));
}

TEST(Tags, EndTagsHaveANameAndNothingElse) {
  EXPECT_EQ(end_tag_name("</a>"), "a");
  EXPECT_EQ(end_tag_name("</g:a \n>"), "g:a");
  EXPECT_EQ(end_tag_name("</ a>"), std::nullopt);
  EXPECT_EQ(end_tag_name("</a b>"), std::nullopt);
  EXPECT_EQ(end_tag_name("</>"), std::nullopt);
}

TEST(References, AreOfCharactersOrOfTheFiveEntities) {
  EXPECT_EQ(reference_fault("&lt;&gt;&amp;&quot;&apos;&#65;&#x1F48E;&#xA;"), "");
  EXPECT_THAT(reference_fault("a & b"), HasSubstr("write &amp;"));
  EXPECT_THAT(reference_fault("&lt"), HasSubstr("write &amp;"));
  EXPECT_THAT(reference_fault("&1;"), HasSubstr("write &amp;"));
  EXPECT_THAT(reference_fault("&eacute;"), HasSubstr("\"&eacute;\" is not declared"));
  for (const char* text : {"&#0;", "&#x0;", "&#xD800;", "&#xFFFF;", "&#x110000;", "&#;", "&#x;",
                           "&#X41;", "&#4a;", "&#99999999999;", "&#-1;"})
    EXPECT_THAT(reference_fault(text), HasSubstr("is no character's number")) << text;
}

TEST(Text, HoldsNoEndOfCdata) {
  EXPECT_EQ(text_fault("a ]] > b"), "");
  EXPECT_THAT(text_fault("a ]]> b"), HasSubstr("]]&gt;"));
}

TEST(Comments, HoldNoTwoHyphens) {
  EXPECT_EQ(comment_fault("<!---->"), "");
  EXPECT_EQ(comment_fault("<!-- - -->"), "");
  EXPECT_THAT(comment_fault("<!-- -- -->"), HasSubstr("--"));
  EXPECT_THAT(comment_fault("<!-- --->"), HasSubstr("--"));
}

TEST(Instructions, HaveAName) {
  EXPECT_EQ(instruction_fault("<?a?>"), "");
  EXPECT_EQ(instruction_fault("<?a b=c?>"), "");
  EXPECT_THAT(instruction_fault("<?\?>"), HasSubstr("without a name"));
  EXPECT_THAT(instruction_fault("<? a?>"), HasSubstr("without a name"));
  EXPECT_TRUE(is_declaration("<?xml version='1.0'?>"));
  EXPECT_TRUE(is_declaration("<?XmL?>"));
  EXPECT_FALSE(is_declaration("<?xml-stylesheet?>"));
  EXPECT_FALSE(is_declaration("<?x?>"));
}

}  // namespace
}  // namespace girdle::xml
