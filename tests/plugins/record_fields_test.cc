#include "json/record_fields.h"

#include <gmock/gmock.h>

#include <set>

namespace girdle::json {
namespace {

using Fields = std::vector<std::pair<std::string, std::string>>;

struct Got {
  Fields fields;
  std::string fault;
};
Got fields_of(const std::string& object, size_t max_fields = 100) {
  RecordFields record(max_fields);
  const std::string readable = object + std::string(kReadableAfter, ' ');
  Got got;
  got.fault = record.read(std::string_view(readable).substr(0, object.size())).value_or("");
  for (size_t i = 0; i < record.names().size(); ++i) {
    got.fields.emplace_back(std::string(record.names()[i].data, record.names()[i].size),
                            std::string(record.values()[i].data, record.values()[i].size));
  }
  return got;
}

std::vector<std::string> names_of(const Fields& fields) {
  std::vector<std::string> names;
  for (const auto& [name, value] : fields) names.push_back(name);
  return names;
}

TEST(RecordFields, NamesNestedValuesByTheirPointer) {
  // RFC 6901 for the pointers.
  EXPECT_EQ(fields_of(R"({ "a" : 1 , "b" : { "c" : [ "x" , { "d/e" : 2 } ] } })").fields,
            (Fields{{"a", "1"}, {"/b/c/0", "x"}, {"/b/c/1/d~1e", "2"}}));
}

TEST(RecordFields, NamesMembersThatLookLikeAWayByTheirPointer) {
  EXPECT_EQ(fields_of(R"({"/a":1,"../a":2,"..":3,"..a":4,"a/../b":5})").fields,
            (Fields{{"/~1a", "1"}, {"/..~1a", "2"}, {"..", "3"}, {"..a", "4"}, {"a/../b", "5"}}));
}

TEST(RecordFields, KeepsNumbersAsTheyAreWritten) {
  EXPECT_EQ(
      fields_of(R"({"a":1.10,"b":[12345678901234567890123,-0.0],"c":1E+05})").fields,
      (Fields{
          {"a", "1.10"}, {"/b/0", "12345678901234567890123"}, {"/b/1", "-0.0"}, {"c", "1E+05"}}));
}

TEST(RecordFields, UnescapesStrings) {
  // RFC 8259, section 7: the G clef as a surrogate pair.
  EXPECT_EQ(
      fields_of(
          R"({"\u0061\n":"\ud834\udd1e","long":"0123456789abcdef\\0123456789abcdef\"\u00e9"})")
          .fields,
      (Fields{{"a\n", "\xF0\x9D\x84\x9E"},
              {"long", "0123456789abcdef\\0123456789abcdef\"\xC3\xA9"}}));
}

TEST(RecordFields, LeavesOutWhatHasNoValue) {
  EXPECT_EQ(fields_of(R"({"a":null,"b":{},"c":[],"d":[null,{}],"e":""})").fields,
            (Fields{{"e", ""}}));
}

TEST(RecordFields, RefusesNamesThatComeTwice) {
  EXPECT_EQ(fields_of(R"({"a":1,"\u0061":2})").fault, "the name \"a\" comes twice in one object");
  EXPECT_EQ(fields_of(R"({"b":{"a":1,"a":2}})").fault,
            "the name \"/b/a\" comes twice in one object");
  EXPECT_EQ(fields_of(R"({"a":[1],"a":{"b":2}})").fault,
            "the name \"a\" comes twice in one object");
  EXPECT_EQ(fields_of(R"({"a":{"b":1},"/a/b":2,"a/b":3,"c":{"a":1}})").fault, "");
}

TEST(RecordFields, RefusesMoreFieldsThanTheLimit) {
  EXPECT_EQ(fields_of(R"({"a":1,"b":2})", 2).fault, "");
  EXPECT_EQ(fields_of(R"({"a":1,"b":2,"c":3})", 2).fault, "more than 2 fields");
  EXPECT_EQ(fields_of(R"({"a":null,"b":{},"c":3})", 2).fault, "more than 2 fields");
}

TEST(RecordFields, ReadsARecordAlikeWhateverCameBefore) {
  // Each after each other: nothing of the one before may show in the next.
  const std::vector<std::pair<std::string, Fields>> objects = {
      {R"({"a":1,"b":2})", {{"a", "1"}, {"b", "2"}}},
      {R"({"a":1,"bb":2})", {{"a", "1"}, {"bb", "2"}}},
      {R"({"a":1})", {{"a", "1"}}},
      {R"({"a":1,"b":2,"c":3})", {{"a", "1"}, {"b", "2"}, {"c", "3"}}},
      {R"({"a":null,"b":1})", {{"b", "1"}}},
      {R"({"a":{"b":1}})", {{"/a/b", "1"}}},
      {R"({"a":[1]})", {{"/a/0", "1"}}},
      {R"({"a":"x","\u0062":2})", {{"a", "x"}, {"b", "2"}}},
      {R"({"a\\b":1})", {{"a\\b", "1"}}},
      {R"({"a\b":1})", {{"a\b", "1"}}},
      {R"({})", {}},
  };
  for (const auto& [before, before_fields] : objects) {
    for (const auto& [object, fields] : objects) {
      RecordFields record(100);
      std::set<uint32_t> layouts;
      for (const std::string* text : {&before, &object, &before, &object}) {
        const std::string readable = *text + std::string(kReadableAfter, ' ');
        EXPECT_EQ(record.read(std::string_view(readable).substr(0, text->size())), std::nullopt);
        layouts.insert(record.layout());
        const Fields& expected = text == &before ? before_fields : fields;
        ASSERT_EQ(record.names().size(), expected.size()) << before << *text;
        for (size_t i = 0; i < expected.size(); ++i) {
          EXPECT_EQ(std::string(record.names()[i].data, record.names()[i].size), expected[i].first)
              << before << *text;
          EXPECT_EQ(std::string(record.values()[i].data, record.values()[i].size),
                    expected[i].second);
        }
      }
      EXPECT_EQ(layouts.size(), names_of(before_fields) == names_of(fields) ? 1u : 2u)
          << before << object;
    }
  }
  RecordFields record(100);
  for (const std::string_view text :
       {R"({"a":1,"b":2}                )", R"({"a":1,"a":2}                )"}) {
    EXPECT_EQ(record.read(text.substr(0, 13)).has_value(), text[8] == 'a');
  }
}

TEST(RecordFields, BoundsWhatNestedNamesTakeTogether) {
  std::string object = "{\"" + std::string(1000, 'x') + "\":[";
  for (int i = 0; i < 90; ++i) object += "1,";
  EXPECT_THAT(fields_of(object + "1]}").fault, testing::HasSubstr("together too long"));
}

}  // namespace
}  // namespace girdle::json
