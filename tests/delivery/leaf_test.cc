#include "delivery/leaf.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "delivery/outlet_parts.h"
#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

using testing::HasSubstr;
using Type = config::Leaf::Type;
using Holds = Leaf::Holds;

base::Zone brussels() { return *base::Zone::find("Europe/Brussels"); }

model::Outcome declared_outcome() {
  model::Outcome outcome = sample_outcome(17, 2);
  outcome.declared.emplace();
  outcome.declared->carat = base::Decimal::parse("1250.53");
  outcome.declared->identity = model::Finding::kNatural;
  outcome.decision.evidence.carat_estimate.emplace();
  outcome.decision.evidence.carat_estimate->plausible = false;
  return outcome;
}

// The value's kind and text: "number 17"; or the error's text.
std::string said(const config::Leaf& source, const model::Outcome& outcome,
                 Holds holds = Holds::kTexts) {
  static constexpr const char* kKinds[] = {"none", "text", "number", "flag", "tree"};
  Reported reported;
  const auto leaf = Leaf::compile(source, holds, brussels(), reported.report());
  EXPECT_TRUE(leaf) << reported.text();
  if (!leaf) return "(not compiled)";
  ParsedEvent event;
  event.read(outcome);
  std::string scratch = "what was there before";
  const auto value = leaf->value(event, scratch);
  if (!value) return value.error().text;
  std::string out = kKinds[static_cast<int>(value->kind)];
  if (value->kind != Value::Kind::kNone) out += ' ';
  return out.append(value->text);
}
std::string said(const config::Leaf& source) { return said(source, declared_outcome()); }

// What is wrong with it.
std::string wrong(const config::Leaf& source, Holds holds = Holds::kTexts) {
  Reported reported;
  EXPECT_FALSE(Leaf::compile(source, holds, brussels(), reported.report()));
  return reported.text();
}

TEST(Leaf, AConstantIsWhatItIs) {
  EXPECT_EQ(said(constant("till 3")), "text till 3");
  EXPECT_EQ(said(constant("")), "text ");
  EXPECT_EQ(said(constant("-0.50", Type::kNumber)), "number -0.50");
  EXPECT_EQ(said(constant("true", Type::kFlag)), "flag true");
  EXPECT_EQ(said(constant("", Type::kNull)), "none");
}

// RFC 8259 section 6: what it has is taken, what it has not is refused.
TEST(Leaf, ANumberIsOneOfJson) {
  for (const char* number :
       {"0", "-0", "12", "0.50", "1e5", "1E-5", "-1.5e+10", "123456789012345678901234567890"}) {
    EXPECT_EQ(said(constant(number, Type::kNumber)), "number " + std::string(number));
  }
  for (const char* text :
       {"", "-", "01", ".5", "5.", "1e", "+1", "0x1F", "1,5", "1 ", "NaN", "Infinity", "1_000"}) {
    EXPECT_THAT(wrong(constant(text, Type::kNumber)),
                HasSubstr("7:3: \"" + std::string(text) + "\" is no number"));
  }
  EXPECT_THAT(wrong(constant("yes", Type::kFlag)), HasSubstr("neither true nor false"));
}

TEST(Leaf, AConstantTakesNothingThatGoesWithFrom) {
  config::Leaf leaf = constant("x");
  leaf.form = "unix";
  EXPECT_THAT(wrong(leaf), HasSubstr("a constant is sent as it is"));
  EXPECT_THAT(wrong(with_default(constant("x"), "y")), HasSubstr("a constant is sent as it is"));
  EXPECT_THAT(wrong(constant("\xff")), HasSubstr("not UTF-8"));
}

TEST(Leaf, TakesWhatStandsInTheEventInItsKind) {
  EXPECT_EQ(said(from("/data/subject/stock_number")), "text R1017");
  EXPECT_EQ(said(from("/data/readings/valid")), "number 2");
  EXPECT_EQ(said(from("/data/evidence/carat_estimate/plausible")), "flag false");
  EXPECT_EQ(said(from("/data/declared/carat")), "text 1250.53");
  EXPECT_EQ(said(from("/time")), "text 2026-11-02T10:15:30.000Z");
  EXPECT_EQ(said(as(from("/data/readings/valid"), Type::kText)), "text 2");
}

TEST(Leaf, AnUnknownPointerIsToldWithTheNearest) {
  EXPECT_EQ(wrong(from("/data/disposision")),
            "7:9: from: \"/data/disposision\" is nothing in the event; did you mean "
            "/data/disposition?\n");
}

TEST(Leaf, NoValueIsTheDefaultElseNone) {
  EXPECT_EQ(said(from("/data/subject/position")), "none");  // null
  EXPECT_EQ(said(from("/data/evidence/probability/value")),
            "none");  // missing, with what is around it
  EXPECT_EQ(said(from("/data/reasons/7/text")), "none");
  EXPECT_EQ(said(with_default(from("/data/subject/position"), "-")), "text -");
  EXPECT_EQ(said(with_default(from("/data/evidence/more_runs"), "0")), "number 0");
  EXPECT_EQ(said(with_default(from("/data/evidence/more_runs"), "unknown")), "text unknown");
  EXPECT_EQ(said(with_default(from("/data/readings/valid"), "0")), "number 2");
}

TEST(Leaf, WordsTranslateAClosedList) {
  const auto words = with_words(from("/data/disposition"), {{"repeat", "AGAIN"},
                                                            {"release", "OK"},
                                                            {"hold", "STOP"},
                                                            {"refer", "LAB"},
                                                            {"reject", "NO"}});
  EXPECT_EQ(said(words), "text LAB");
  EXPECT_EQ(said(with_words(from("/data/evidence/carat_estimate/plausible"),
                            {{"true", "Y"}, {"false", "N"}})),
            "text N");
}

TEST(Leaf, MissingWordsAreNamedUnlessThereIsADefault) {
  const auto some = with_words(from("/data/disposition"), {{"release", "OK"}, {"hold", "STOP"}});
  EXPECT_EQ(wrong(some),
            "7:3: words: /data/disposition can be repeat, refer or reject too; say what each is "
            "for the receiver, or "
            "give a  default\n");
  EXPECT_EQ(said(with_default(some, "?")), "text ?");
}

TEST(Leaf, WordsThatAreNoneOfOursAreRefused) {
  EXPECT_THAT(
      wrong(with_default(with_words(from("/data/disposition"), {{"relase", "OK"}}), "?")),
      HasSubstr(
          "9:5: words: \"relase\" is no word of /data/disposition; did you mean \"release\"?"));
  EXPECT_THAT(
      wrong(with_default(with_words(from("/data/finding"), {{"none", "a"}, {"none", "b"}}), "?")),
      HasSubstr("twice"));
  EXPECT_THAT(wrong(with_words(from("/data/site"), {{"quay-street", "1"}})),
              HasSubstr("words: /data/site is a text, and not a word of a closed list"));
}

// A market that this table does not know yet stands for any word that is newer than a
// configuration.
TEST(Leaf, AWordWithoutTranslationIsAnErrorThatNamesIt) {
  const auto words =
      with_words(from("/data/disclosure/market"), {{"iso", "1"}, {"cibjo", "2"}, {"us", "3"}});
  model::Outcome outcome = sample_outcome(1, 1);
  outcome.disclosure = model::Disclosure{
      .market = "us", .title = {}, .source = {}, .allowed = {}, .barred = {}, .caution = {}};
  EXPECT_EQ(said(words, outcome), "text 3");
  outcome.disclosure->market = "moon";
  EXPECT_EQ(said(words, outcome), "/data/disclosure/market: \"moon\" is not among the words");
  EXPECT_EQ(said(with_default(words, "0"), outcome), "text 0");
  auto two = joined({"/data/disclosure/market", "/data/evidence/scope"});
  for (const char* word : {"iso", "cibjo", "us", "in", "out", "unknown"})
    two.words.push_back({{word, {9, 5}}, {"w", {9, 15}}});
  EXPECT_EQ(said(two, outcome), "/data/disclosure/market: \"moon\" is not among the words");
}

TEST(Leaf, WordsMayBeNumbersAndFlagsWhereTheirTextsAre) {
  const auto numbers = with_default(with_words(from("/data/disposition"), {{"refer", "3"}}), "0");
  EXPECT_EQ(said(as(numbers, Type::kNumber)), "number 3");
  const auto flags =
      with_default(with_words(from("/data/disposition"), {{"release", "true"}}), "false");
  EXPECT_EQ(said(as(flags, Type::kFlag)), "flag false");
  EXPECT_THAT(
      wrong(as(with_default(with_words(from("/data/disposition"), {{"refer", "three"}}), "0"),
               Type::kNumber)),
      HasSubstr("9:15: words: \"three\" is no number"));
  EXPECT_THAT(wrong(as(with_default(from("/data/evidence/more_runs"), "none"), Type::kNumber)),
              HasSubstr("8:5: default: \"none\" is no number"));
}

TEST(Leaf, DecimalsBecomeNumbersDigitByDigit) {
  model::Outcome outcome = declared_outcome();
  EXPECT_EQ(said(as(from("/data/declared/carat"), Type::kNumber), outcome), "number 1250.53");
  outcome.declared->value =
      base::Decimal::parse("0.1000000000000000055511151231257827");  // no double has these digits
  EXPECT_EQ(said(as(from("/data/declared/value"), Type::kNumber), outcome),
            "number 0.1000000000000000055511151231257827");
  EXPECT_EQ(wrong(as(from("/data/site"), Type::kNumber)),
            "7:3: as: number: /data/site is a text, which is no number\n");
  EXPECT_THAT(wrong(as(from("/data/readings/valid"), Type::kFlag)),
              HasSubstr("as: flag: /data/readings/valid is a number"));
  EXPECT_THAT(wrong(as(joined({"/data/readings/valid", "/data/readings/void"}), Type::kNumber)),
              HasSubstr("joined"));
}

TEST(Leaf, ADecimalMarkMayBeAComma) {
  config::Leaf leaf = from("/data/declared/carat");
  leaf.decimal_mark = ',';
  EXPECT_EQ(said(leaf), "text 1250,53");
  EXPECT_EQ(wrong(as(leaf, Type::kNumber)), "7:3: decimal: the numbers of JSON have a point\n");
  leaf.from.front().text = "/data/site";
  EXPECT_EQ(wrong(leaf), "7:3: decimal: /data/site is a text, which has no decimal mark\n");
}

TEST(Leaf, TimesAreWrittenInAFormAndAZone) {
  config::Leaf leaf = from("/data/decided_at");
  leaf.form = "%d.%m.%Y %H:%M";
  EXPECT_EQ(said(leaf), "text 02.11.2026 11:15");  // the site is in Brussels
  leaf.zone = "America/New_York";
  EXPECT_EQ(said(leaf), "text 02.11.2026 05:15");
  leaf.form.clear();
  EXPECT_EQ(said(leaf), "text 2026-11-02T05:15:30.000-05:00");
  leaf.zone.clear();
  leaf.form = "unix_ms";
  EXPECT_EQ(said(as(leaf, Type::kNumber)), "number 1793614530000");
}

TEST(Leaf, FormsAndZonesAreCheckedAtOnce) {
  config::Leaf leaf = from("/data/site");
  leaf.form = "unix";
  EXPECT_EQ(wrong(leaf), "7:3: form: /data/site is a text, which is no time\n");
  leaf.from.front().text = "/time";
  leaf.form = "%H:%M";
  EXPECT_EQ(said(leaf), "text 11:15");  // a column of its own
  leaf.form = "%Q";
  EXPECT_THAT(wrong(leaf), HasSubstr("form: the form has %Q"));
  leaf.form = "%F";
  leaf.zone = "Europe/Brusels";
  EXPECT_THAT(wrong(leaf), HasSubstr("did you mean Europe/Brussels?"));
  leaf.form = "unix";
  leaf.zone = "Europe/Brussels";
  EXPECT_THAT(wrong(leaf), HasSubstr("are the same in every zone"));
}

TEST(Leaf, SeveralAreJoinedAndTheMissingLeftOut) {
  config::Leaf leaf =
      joined({"/data/subject/stock_number", "/data/subject/position", "/data/readings/valid"});
  leaf.join = "/";
  EXPECT_EQ(said(leaf), "text R1017/2");
  model::Outcome piece = declared_outcome();
  piece.position = "3";
  EXPECT_EQ(said(leaf, piece), "text R1017/3/2");
  EXPECT_EQ(said(with_default(joined({"/data/subject/position", "/data/merged_into"}), "none")),
            "text none");
  EXPECT_EQ(said(joined({"/data/subject/position", "/data/merged_into"})), "none");
}

TEST(Leaf, ObjectsAndListsAreForJsonAlone) {
  EXPECT_EQ(said(from("/data/reasons"), declared_outcome(), Holds::kTrees), "tree ");
  EXPECT_EQ(said(from("/data/evidence/probability"), declared_outcome(), Holds::kTrees), "none");
  EXPECT_EQ(wrong(from("/data/reasons")),
            "7:9: from: /data/reasons is a list, which only a body of JSON can hold; name one of "
            "its fields\n");
  EXPECT_THAT(wrong(joined({"/data/subject", "/data/site"}), Holds::kTrees),
              HasSubstr("only texts are joined"));
  EXPECT_THAT(wrong(as(from("/data/subject"), Type::kText), Holds::kTrees),
              HasSubstr("goes as it is, without  as"));
}

TEST(Leaf, KnowsWhetherItAlwaysHasAValue) {
  const auto always = [](const config::Leaf& source) {
    Reported reported;
    return Leaf::compile(source, Holds::kTexts, brussels(), reported.report())->always_has_value();
  };
  EXPECT_TRUE(always(constant("x")));
  EXPECT_FALSE(always(constant("", Type::kNull)));
  EXPECT_TRUE(always(from("/data/site")));
  EXPECT_FALSE(always(from("/data/subject/position")));
  EXPECT_TRUE(always(with_default(from("/data/subject/position"), "-")));
  EXPECT_TRUE(always(joined({"/data/subject/position", "/data/site"})));
}

TEST(Leaf, SaysAllThatIsWrongInOnePass) {
  config::Leaf leaf = with_words(from("/data/site"), {{"a", "b"}});
  leaf.form = "unix";
  leaf.decimal_mark = ',';
  const std::string text = wrong(leaf);
  EXPECT_THAT(text, HasSubstr("words: /data/site"));
  EXPECT_THAT(text, HasSubstr("form: /data/site"));
  EXPECT_THAT(text, HasSubstr("decimal: /data/site"));
}

}  // namespace
}  // namespace girdle::delivery
