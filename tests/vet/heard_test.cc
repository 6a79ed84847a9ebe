#include "vet/heard.h"

#include <gtest/gtest.h>

namespace girdle::vet {
namespace {

girdle_text lend(const std::string& text) { return {text.data(), text.size()}; }

Event record(uint64_t offset, uint64_t length, const std::string& value) {
  const std::string name = "carat";
  const girdle_text names[] = {lend(name)}, values[] = {lend(value)};
  return event_of(
      girdle_record{sizeof(girdle_record), 1, offset, length, offset / 10 + 1, 1, names, values});
}

Heard two_records() { return {record(0, 9, "0.50"), record(10, 9, "0.71")}; }

TEST(Heard, OfTheSameIsTheSame) {
  EXPECT_EQ(difference(two_records(), two_records()), std::nullopt);
  EXPECT_EQ(difference({}, {}), std::nullopt);
}

TEST(Heard, GivesFieldsBackAsTheyWere) {
  const std::string name("a\0b", 3), value = std::string("\0\n", 2);
  const girdle_text names[] = {lend(name), {nullptr, 0}}, values[] = {lend(value), {nullptr, 0}};
  const Event event = event_of(girdle_record{sizeof(girdle_record), 0, 0, 5, 1, 2, names, values});
  ASSERT_EQ(event.fields().size(), 2u);
  EXPECT_EQ(event.fields()[0], std::make_pair(name, value));
  EXPECT_EQ(event.fields()[1], std::make_pair(std::string(), std::string()));
}

TEST(Heard, SaysWhatIsDifferentInWordsForAnAuthor) {
  const auto changed = [](auto change) {
    Heard heard = two_records();
    change(heard);
    return difference(two_records(), heard).value_or("the same");
  };
  EXPECT_EQ(changed([](Heard& heard) { heard[1] = record(10, 9, "0.7"); }),
            R"(record 2 (line 2, bytes 10 to 19) has "carat" = "0.7" and not "0.71")");
  EXPECT_EQ(changed([](Heard& heard) { heard[1].line = 7; }),
            "record 2 (line 2, bytes 10 to 19) is on line 7 and not 2");
  EXPECT_EQ(changed([](Heard& heard) { heard[1].length = 8; }),
            "record 2 (line 2, bytes 10 to 19) is now line 2, bytes 10 to 18");
  EXPECT_EQ(changed([](Heard& heard) { heard[0].layout = 4; }),
            "record 1 (line 1, bytes 0 to 9) has the layout 4 and not 1");
  EXPECT_EQ(changed([](Heard& heard) { heard.pop_back(); }),
            "record 2 (line 2, bytes 10 to 19) is missing");
  EXPECT_EQ(changed([](Heard& heard) { heard.erase(heard.begin()); }),
            "record 1 (line 1, bytes 0 to 9) is missing");
  EXPECT_EQ(changed([](Heard& heard) { heard.push_back(record(30, 2, "1")); }),
            "record 3 (line 4, bytes 30 to 32) is one too many");
  EXPECT_EQ(changed([](Heard& heard) {
              const std::string reason = "broken";
              heard[0] = event_of(girdle_aside{sizeof(girdle_aside), 0, 0, 9, 1, lend(reason)});
            }),
            "record 1 (line 1, bytes 0 to 9) is no record but set aside: broken");
}

TEST(Heard, OfAReaderThatWentOnIsMovedToItsPlace) {
  Heard heard = {record(0, 9, "0.50")};
  append(heard, {record(0, 9, "0.71")}, 10);
  heard[1].line = 2;
  EXPECT_EQ(difference(two_records(), heard), std::nullopt);
}

}  // namespace
}  // namespace girdle::vet
