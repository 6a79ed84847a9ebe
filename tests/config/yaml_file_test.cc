#include "config/yaml_file.h"

#include <gmock/gmock.h>

#include "small_house.h"

namespace girdle::config {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

struct Parsed {
  std::optional<YamlFile> file;
  std::vector<std::string> problems;
};

Parsed parse(const std::string& text) {
  static const std::string kName = "f";
  Problems problems;
  Parsed parsed;
  parsed.file = YamlFile::parse(text, Report(kName, problems));
  parsed.problems = formatted(problems);
  return parsed;
}

// The keys and values of a map of texts, as they were read.
std::vector<std::string> texts(const Parsed& parsed) {
  std::vector<std::string> out;
  if (!parsed.file) return out;
  for (const Node::Entry& entry : parsed.file->root().entries) {
    out.push_back(entry.key->text);
    out.push_back(std::string(entry.value->scalar().value_or("(nothing)")));
  }
  return out;
}

TEST(YamlFile, TakesEveryScalarAsTheTextThatStandsThere) {
  const Parsed parsed = parse(
      "{ no: 0117, yes: on, 1: 1e3, 0x1F: 012, 12:30:00: 2024-01-01, -: \"~\", .inf: NaN, '': '' "
      "}");
  EXPECT_THAT(parsed.problems, IsEmpty());
  EXPECT_THAT(texts(parsed),
              ElementsAre("no", "0117", "yes", "on", "1", "1e3", "0x1F", "012", "12:30:00",
                          "2024-01-01", "-", "~", ".inf", "NaN", "", ""));
}

TEST(YamlFile, KeepsHowNothingWasSpelled) {
  const Parsed parsed = parse("~: null\nnull: ~\nNULL: Null\nx:\nnull2: nullable\n");
  EXPECT_THAT(parsed.problems, IsEmpty());
  EXPECT_THAT(texts(parsed), ElementsAre("~", "null", "null", "~", "NULL", "Null", "x", "(nothing)",
                                         "null2", "nullable"));
}

TEST(YamlFile, DoesNotTakeTheNextKeyForAValueThatIsLeftOut) {
  EXPECT_THAT(texts(parse("a:\nnull: x\n~:\n")),
              ElementsAre("a", "(nothing)", "null", "x", "~", "(nothing)"));
}

TEST(YamlFile, CountsColumnsInCharacters) {
  const Parsed parsed = parse(
      "\xEF\xBB\xBF"
      "{ \"größe\": 1, \"größe\": 2 }");
  EXPECT_THAT(parsed.problems,
              ElementsAre("f:1:15: the key \"größe\" is here twice (first on line 1)"));
}

TEST(YamlFile, ReportsAKeyThatComesTwiceInAnyMap) {
  EXPECT_THAT(parse("a: { b: 1, \"b\": 2 }\nc:\n  - d: 1\n    e: 2\n    d: 3\n").problems,
              ElementsAre("f:1:12: the key \"b\" is here twice (first on line 1)",
                          "f:5:5: the key \"d\" is here twice (first on line 3)"));
}

TEST(YamlFile, TakesAnchorsAndAliases) {
  const Parsed parsed = parse("a: &x { b: c }\nd: *x\n&k e: *k\n");
  ASSERT_TRUE(parsed.file);
  EXPECT_THAT(parsed.problems, IsEmpty());
  EXPECT_EQ(parsed.file->root().entries[1].value->entries[0].value->text, "c");
  EXPECT_EQ(parsed.file->root().entries[2].value->text, "e");
}

TEST(YamlFile, RefusesWhatAliasesMakeTooLarge) {
  // The usual nine levels of ten references each: 10^9 values in 500 bytes.
  std::string text = "a0: &a0 [x]\n";
  for (int i = 1; i <= 9; ++i) {
    const std::string before = "*a" + std::to_string(i - 1);
    text += "a" + std::to_string(i) + ": &a" + std::to_string(i) + " [" + before;
    for (int n = 1; n < 10; ++n) text += ", " + before;
    text += "]\n";
  }
  const Parsed parsed = parse(text);
  EXPECT_FALSE(parsed.file);
  EXPECT_THAT(parsed.problems,
              ElementsAre("f:6:30: holds more than 100000 values or 32 levels once its aliases are "
                          "written out"));
}

TEST(YamlFile, RefusesAnAliasInsideWhatItPointsTo) {
  EXPECT_THAT(parse("a: &x [1, *x]\n").problems,
              ElementsAre("f:1:11: an alias (*) stands inside what it points to"));
}

TEST(YamlFile, RefusesAnUnknownAlias) {
  EXPECT_THAT(
      parse("a: *x\n").problems,
      ElementsAre("f:1:4: not YAML: the referenced anchor is not defined; a text that begins "
                  "with \"*\" needs quotes around it"));
}

TEST(YamlFile, RefusesDeepNesting) {
  EXPECT_THAT(parse(std::string(5000, '[') + std::string(5000, ']')).problems,
              ElementsAre("f:1:33: nested deeper than 32 levels"));
  EXPECT_TRUE(parse(std::string(32, '[') + std::string(32, ']')).file);
}

TEST(YamlFile, RefusesTags) {
  EXPECT_THAT(
      parse("a: !!str 1\nb: !mine { c: d }\n").problems,
      ElementsAre("f:1:4: tags (such as !!str) are not taken: leave it out, the key decides "
                  "what a value is",
                  "f:2:4: tags (such as !!str) are not taken: leave it out, the key decides "
                  "what a value is"));
}

TEST(YamlFile, RefusesMergingButNotAWordThatLooksLikeIt) {
  EXPECT_THAT(
      parse("a: &x { b: c }\nd: { <<: *x }\n").problems,
      ElementsAre("f:2:6: merging with << is not taken: write the keys out, or use an alias "
                  "for a whole value"));
  EXPECT_THAT(texts(parse("\"<<\": x\n")), ElementsAre("<<", "x"));
}

TEST(YamlFile, RefusesASecondDocument) {
  EXPECT_THAT(parse("a: b\n---\nc: d\n").problems,
              ElementsAre("f:2:1: a second document begins here (---); a file holds one"));
}

TEST(YamlFile, RefusesAKeyThatIsNoText) {
  EXPECT_THAT(parse("{ [a]: b, {c: d}: e, f: g }").problems,
              ElementsAre("f:1:3: a key must be a text, and not a list, a map or nothing",
                          "f:1:11: a key must be a text, and not a list, a map or nothing"));
}

TEST(YamlFile, RefusesAnEmptyFile) {
  for (const char* text : {"", "# only a remark\n", "---\n", "~\n", "\xEF\xBB\xBF"}) {
    EXPECT_THAT(parse(text).problems,
                ElementsAre("f: is empty; it must be a map of keys and values"))
        << text;
  }
}

TEST(YamlFile, RefusesWhatIsNotUtf8AndSaysWhere) {
  EXPECT_THAT(parse("a: é\nb: gr\xFC\xDF"
                    "e\n")
                  .problems,
              ElementsAre("f:2:6: not UTF-8 text; save the file as UTF-8"));
  EXPECT_THAT(parse(std::string("\xFF\xFE"
                                "a\0:\0",
                                6))
                  .problems,
              ElementsAre("f:1:1: not UTF-8 text; save the file as UTF-8"));
  EXPECT_THAT(parse(std::string("a\0:\0", 4)).problems,
              ElementsAre("f:1:2: not UTF-8 text; save the file as UTF-8"));
}

TEST(YamlFile, SaysThatTabsDoNotIndent) {
  EXPECT_THAT(
      parse("a:\n\tb: c\n").problems,
      ElementsAre("f:2:3: not YAML: illegal map value; indent with spaces, never with tabs"));
}

TEST(YamlFile, SaysThatATextNeedsQuotes) {
  EXPECT_THAT(
      parse("a: b: c\n").problems,
      ElementsAre("f:1:5: not YAML: illegal map value; a text that holds \": \" needs quotes "
                  "around it, and a key needs a \":\" behind it"));
  EXPECT_THAT(parse("a: [ >= 1 ]\n").problems,
              ElementsAre("f:1:6: not YAML: unknown token; a text that begins with \">\" needs "
                          "quotes around it"));
}

TEST(YamlFile, SaysWhatIsMeantByAKeyThatStandsApart) {
  EXPECT_THAT(parse("a b\nc: d\n").problems,
              ElementsAre("f:2:2: not YAML: illegal map value; a text that holds \": \" needs "
                          "quotes around it, and a key needs a \":\" behind it"));
  EXPECT_THAT(parse("a:\n  b: { c: d }\n   e: f\n").problems,
              ElementsAre("f:3:4: not YAML: end of map not found; the keys of one map begin in the "
                          "same column"));
}

TEST(YamlFile, SaysHowABackslashIsWritten) {
  EXPECT_THAT(parse("a: \"C:\\inbox\"\n").problems,
              ElementsAre("f:1:9: not YAML: unknown escape character: i; between double quotes "
                          "write \\\\ for a \\, or use single quotes"));
}

TEST(YamlFile, SaysThatABracketIsNotClosed) {
  EXPECT_THAT(parse("a: { b: c\n").problems,
              ElementsAre("f:2:1: not YAML: end of map flow not found; a { or a [ before this is "
                          "never closed"));
}

TEST(YamlFile, RefusesAQuoteThatIsNeverClosed) {
  EXPECT_THAT(parse("a: \"x\nb: y\n").problems,
              ElementsAre("f:1:4: the quote that opens here is never closed"));
  EXPECT_THAT(parse("a: 'it''s\nb: y\n").problems,
              ElementsAre("f:1:4: the quote that opens here is never closed"));
  EXPECT_THAT(texts(parse("a: \"x\\\"\"\nb: 'it''s'\n")), ElementsAre("a", "x\"", "b", "it's"));
}

}  // namespace
}  // namespace girdle::config
