#include "json/envelope.h"

#include <gtest/gtest.h>

#include "json/value_scanner.h"

namespace girdle::json {
namespace {

// What the machine says of a whole document: R a record, p a value passed over, ! a fault, $ the
// end reached.
std::string walk(std::vector<std::string> tokens, std::string_view text,
                 Envelope::Root root = Envelope::Root::kAny) {
  Envelope envelope(std::move(tokens), root);
  std::string said;
  while (!text.empty()) {
    if (is_space(text[0])) {
      text.remove_prefix(1);
      continue;
    }
    const Envelope::Step step = envelope.step(text[0]);
    if (step == Envelope::Step::kFault) return said + "!";
    if (step == Envelope::Step::kStructure) {
      text.remove_prefix(1);
      continue;
    }
    ValueScanner scanner;
    scanner.begin(text[0]);
    const std::string_view value = text.substr(0, scanner.advance(text.data(), text.size()));
    if (step == Envelope::Step::kName) {
      if (!envelope.named(value.substr(1, value.size() - 2))) return said + "!";
    } else {
      said += step == Envelope::Step::kRecord ? 'R' : 'p';
      envelope.value_ended();
    }
    text.remove_prefix(value.size());
  }
  return said + (envelope.ended() ? "$" : "") + (envelope.found() ? "" : " not found");
}

TEST(Envelope, FindsTheRecordsOfTheDocumentItself) {
  EXPECT_EQ(walk({}, "[{},{}, 1]"), "RRR$");
  EXPECT_EQ(walk({}, "{\"a\":1}"), "R$");
  EXPECT_EQ(walk({}, "[]"), "$");
  EXPECT_EQ(walk({}, "[{}"), "R");
}

TEST(Envelope, FollowsAPointerThroughObjectsAndArrays) {
  EXPECT_EQ(walk({"r"}, "{\"a\":{\"r\":[1]},\"r\":[{},{}],\"z\":2}"), "pRRp$");
  EXPECT_EQ(walk({"r"}, "{\"r\":{}}"), "R$");
  EXPECT_EQ(walk({"1", "r"}, "[0,{\"r\":[{}]},2]"), "pRp$");
  EXPECT_EQ(walk({"r", "s"}, "{\"r\":5}"), "p$ not found");
  EXPECT_EQ(walk({"r"}, "{}"), "$ not found");
  EXPECT_EQ(walk({"r"}, "{\"r\":[{}],\"r\":[{}]}"), "R!");
}

TEST(Envelope, FollowsAHyphenToEachElementOfAnArray) {
  EXPECT_EQ(walk({"-", "r"}, "[{\"r\":[1,2]},3,{\"r\":[]},{\"s\":4},{\"r\":5}]"), "RRppR$");
  EXPECT_EQ(walk({"-", "-"}, "[[{}],[{},{}]]"), "RRR$");
  EXPECT_EQ(walk({"s", "-", "r"}, "{\"s\":[]}"), "$");
  EXPECT_EQ(walk({"s", "-", "r"}, "{\"s\":[{}]}"), "$ not found");
  EXPECT_EQ(walk({"-"}, "{\"-\":[{}],\"a\":1}"), "Rp$");  // in an object it is a name
  // RFC 6901, section 4: no leading zeros, and the element behind the last is never there.
  EXPECT_EQ(walk({"01"}, "[0,{}]"), "pp$ not found");
  EXPECT_EQ(walk({"2"}, "[0,{}]"), "pp$ not found");
}

TEST(Envelope, RefusesWhatIsNotTheGrammar) {
  for (const char* bad :
       {"[,{}]", "[{}{}]", "[{},]", "[{},,{}]", "]", "[{}}", "[]]", "[] {}", ":", "[:]"}) {
    EXPECT_EQ(walk({}, bad).back(), '!') << bad;
  }
  for (const char* bad : {"{\"r\" [1]}", "{\"r\":[1]]", "{1:2}", "{,}", "{\"a\":1,}", "{\"a\":}",
                          "{\"a\":1 \"b\":2}", "{]"}) {
    EXPECT_EQ(walk({"r"}, bad).back(), '!') << bad;
  }
}

TEST(Envelope, HoldsTheDocumentToItsShape) {
  EXPECT_EQ(walk({}, "[{}]", Envelope::Root::kObject), "!");
  EXPECT_EQ(walk({}, "{}", Envelope::Root::kArray), "!");
  EXPECT_EQ(walk({}, "{}", Envelope::Root::kObject), "R$");
}

}  // namespace
}  // namespace girdle::json
