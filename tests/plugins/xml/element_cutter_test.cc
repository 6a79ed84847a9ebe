#include "xml/element_cutter.h"

#include <gmock/gmock.h>

#include "xml/xml_stream.h"

namespace girdle::xml {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

// Elements as their text, the rest as "!" and the reason.
class Told final : public ElementListener {
 public:
  void element(const Element& element) override {
    all.emplace_back(element.text);
    lines.push_back(element.line);
  }
  void aside(uint64_t offset, uint64_t length, uint64_t line, std::string_view reason) override {
    all.push_back("!" + std::to_string(offset) + "+" + std::to_string(length));
    reasons.emplace_back(reason);
    lines.push_back(line);
  }
  bool stopped() const override { return false; }

  std::vector<std::string> all;
  std::vector<std::string> reasons;
  std::vector<uint64_t> lines;
};

CutterSettings settings(const std::string& path, uint64_t limit = 1 << 20) {
  CutterSettings made;
  made.path.names = *path_names(path);
  made.limit = limit;
  return made;
}

Told told(std::string_view document, const CutterSettings& how) {
  Told told;
  XmlStream stream(how, told);
  stream.feed(document);
  stream.finish();
  EXPECT_EQ(stream.consumed(), document.size());
  return told;
}

TEST(LineCounter, CountsLineEndsOfEachKindOnce) {
  LineCounter whole;
  whole.pass("a\nb\r\nc\rd\r\r\n");
  EXPECT_EQ(whole.line(), 6u);
  LineCounter cut;
  for (const std::string_view part : {"a\n", "b\r", "\nc\r", "d\r", "\r", "\n"}) cut.pass(part);
  EXPECT_EQ(cut.line(), 6u);
}

TEST(ElementCutter, CutsTheElementsAtThePath) {
  const Told heard =
      told("<a>\n<b/> <c><b>no</b></c>\r\n<b x='>'>1<b>2</b></b >\r<B/></a>\n", settings("/a/b"));
  EXPECT_THAT(heard.all, ElementsAre("<b/>", "<b x='>'>1<b>2</b></b >"));
  EXPECT_THAT(heard.lines, ElementsAre(2, 3));
}

TEST(ElementCutter, TakesTheOutermostElementForARecordWhereThePathSaysSo) {
  EXPECT_THAT(told("<?p?><a><a/></a><!-- -->", settings("/a")).all, ElementsAre("<a><a/></a>"));
  EXPECT_THAT(told("<a/>", settings("/a")).all, ElementsAre("<a/>"));
}

TEST(ElementCutter, LooksForPrefixesOnlyWhereItIsTold) {
  CutterSettings how = settings("/a/b");
  EXPECT_THAT(told("<a><x:b/></a>", how).all, ElementsAre("!13+0"));
  how.path.any_prefix = true;
  EXPECT_THAT(told("<y:a><x:b/></y:a>", how).all, ElementsAre("<x:b/>"));
}

TEST(ElementCutter, GoesOnBehindAFaultThatLeavesTagsAlone) {
  for (const std::string bad :
       {"<b>&</b>", "<b>\x01</b>", "<b x='1' x='2'/>", "<b>]]></b>", "<b><!-- -- --></b>",
        "<b><c d/></b>", "<b>&x;</b>", "<b>\xFF</b>", "<b x=1/>", "<b><?xml version='1.0'?></b>"}) {
    const Told heard = told("<a><b>1</b>" + bad + "<b>2</b></a>", settings("/a/b"));
    EXPECT_THAT(heard.all, ElementsAre("<b>1</b>", "!11+" + std::to_string(bad.size()), "<b>2</b>"))
        << bad;
  }
}

TEST(ElementCutter, SetsTheRestAsideWhereTagsDoNotFit) {
  for (const std::string bad : {"<b><c></b>", "</c>", "<b><c></d></b>", "<b c='<'/>", "< b/>",
                                "<b><!x></b>", "<b><1/></b>", "<c d/>"}) {
    const Told heard = told("<a><b>1</b>" + bad + "<b>2</b></a>", settings("/a/b"));
    EXPECT_THAT(heard.all, ElementsAre("<b>1</b>", "!11+" + std::to_string(bad.size() + 12)))
        << bad;
  }
}

TEST(ElementCutter, SetsAsideFromTheTagOnThatDoesNotFit) {
  EXPECT_THAT(told("<a><c></d></a>", settings("/a/b")).all, ElementsAre("!6+8"));
}

TEST(ElementCutter, RefusesADocumentTypeDeclaration) {
  const Told heard =
      told("<!-- --><!DOCTYPE a [<!ENTITY x 'y'>]><a><b>&x;</b></a>", settings("/a/b"));
  EXPECT_THAT(heard.all, ElementsAre("!8+47"));
  EXPECT_THAT(heard.reasons[0], HasSubstr("DOCTYPE"));
}

TEST(ElementCutter, PassesOverWhatIsNotOnTheWayButKnowsItsTags) {
  const Told heard = told("<a><c>text &x; <![CDATA[<b>]]><b/></c><b/></a>", settings("/a/b"));
  EXPECT_THAT(heard.all, ElementsAre("<b/>"));
  EXPECT_THAT(told("<a><c><b/></a>", settings("/a/b")).all, ElementsAre("!10+4"));
}

TEST(ElementCutter, PassesOverLongTextAndCommentsThatHoldNothing) {
  const std::string long_text(200, 'x');
  const Told heard = told("<a><!--" + long_text + "--><c>" + long_text + "<![CDATA[" + long_text +
                              "]]></c><?p " + long_text + "?><b/></a>",
                          settings("/a/b", 64));
  EXPECT_THAT(heard.all, ElementsAre("<b/>"));
}

TEST(ElementCutter, SetsATagOverTheLimitAsideWithTheRest) {
  const std::string text(70, 'x');
  for (const std::string& tag : {"<c d='" + text + "'>", "<" + text + ">", "</" + text + ">"}) {
    const Told heard = told("<a><b/>" + tag, settings("/a/b", 64));
    ASSERT_GE(heard.all.size(), 2u) << tag;
    EXPECT_EQ(heard.all[1], "!7+64");
    EXPECT_THAT(heard.reasons[0], HasSubstr("a tag longer than 64 bytes"));
  }
}

TEST(ElementCutter, BoundsWhatItKeepsOfOpenElements) {
  const std::string tag = "<c d='" + std::string(50, 'x') + "'>";
  CutterSettings how = settings("/a/c/c/b", 64);
  EXPECT_THAT(told("<a>" + tag + tag + "<b/>", how).reasons[0], HasSubstr("around the records"));
}

TEST(ElementCutter, KnowsHowDeepItIs) {
  CutterSettings how = settings("/a/b");
  how.max_depth = 3;
  EXPECT_THAT(told("<a><b><c/></b></a>", how).all, ElementsAre("<b><c/></b>"));
  EXPECT_THAT(told("<a><b><c><d/></c></b><b/></a>", how).all, ElementsAre("!3+18", "<b/>"));
  EXPECT_THAT(told("<a><x><y><z/></y></x><b/></a>", how).all, ElementsAre("!9+20"));
}

TEST(ElementCutter, SaysThatADocumentEndsTooEarly) {
  EXPECT_THAT(told("", settings("/a/b")).reasons, ElementsAre(HasSubstr("empty")));
  EXPECT_THAT(told("\n<!-- -->", settings("/a/b")).reasons, ElementsAre(HasSubstr("empty")));
  EXPECT_THAT(told("<a><b/>", settings("/a/b")).all, ElementsAre("<b/>", "!7+0"));
  EXPECT_THAT(told("<a><b/><b", settings("/a/b")).all, ElementsAre("<b/>", "!7+2"));
  EXPECT_THAT(told("<a><b/><b>", settings("/a/b")).all, ElementsAre("<b/>", "!7+3"));
  EXPECT_THAT(told("<a><!-- ", settings("/a/b")).all, ElementsAre("!3+5"));
}

TEST(ElementCutter, SaysThatThereWasNoRecord) {
  EXPECT_THAT(told("<a></a>", settings("/a/b")).all, ElementsAre());
  EXPECT_THAT(told("<a><c/></a>", settings("/a/b")).reasons,
              ElementsAre(HasSubstr("there is \"c\"")));
  EXPECT_THAT(told("<a><c/></a>", settings("/a/b/c")).reasons,
              ElementsAre(HasSubstr("nothing is")));
  EXPECT_THAT(told("<c/>", settings("/a/b")).reasons,
              ElementsAre(HasSubstr("outermost element is \"c\"")));
  CutterSettings how = settings("/a/b");
  how.may_be_absent = true;
  EXPECT_THAT(told("<a><c/></a>", how).all, ElementsAre());
}

TEST(ElementCutter, CutsALongElementIntoPiecesOfTheLimit) {
  const std::string big =
      "<b c='" + std::string(80, '>') + "'><b>" + std::string(60, '-') + "</b></b>";
  const Told heard = told("<a>" + big + "<b/></a>", settings("/a/b", 64));
  EXPECT_THAT(heard.all,
              ElementsAre("!3+64", "!67+64", "!131+" + std::to_string(big.size() - 128), "<b/>"));
}

// A character of UTF-16 is not cut, so that a piece may be a little shorter.
TEST(ElementCutter, CutsPiecesOfUtf16BetweenCharacters) {
  std::string wide = "\xFF\xFE";
  for (const char c : "<a><b>" + std::string(100, 'x') + "</b></a>") wide += {c, '\0'};
  EXPECT_THAT(told(wide, settings("/a/b", 65)).all,
              ElementsAre("!8+64", "!72+64", "!136+64", "!200+22"));
}

}  // namespace
}  // namespace girdle::xml
