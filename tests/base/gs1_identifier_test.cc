#include "base/gs1_identifier.h"

#include <gmock/gmock.h>

#include <vector>

namespace girdle::base {
namespace {

using testing::IsEmpty;

std::string fault(std::string_view code, std::string_view data) {
  const auto identifier = Gs1Identifier::named(code);
  return identifier ? identifier->fault(data) : "no identifier";
}

std::vector<std::string> all_codes() {
  std::vector<std::string> codes;
  for (int size = 2; size <= 4; ++size) {
    for (int number = 0; number < (size == 2 ? 100 : size == 3 ? 1000 : 10000); ++number) {
      std::string code = std::to_string(number);
      code.insert(0, static_cast<size_t>(size) - code.size(), '0');
      if (Gs1Identifier::named(code)) codes.push_back(std::move(code));
    }
  }
  return codes;
}

// GS1 Barcode Syntax Dictionary (GS1 AISBL, Apache-2.0): lengths, whether the length is predefined,
// whether a Digital Link may have it in its query.
TEST(Gs1Identifier, HasThePublishedFormAndPlace) {
  struct Published {
    const char* code;
    size_t least, most;
    bool predefined, attribute;
  };
  const Published all[] = {
      {"00", 18, 18, true, true},    {"01", 14, 14, true, true},    {"11", 6, 6, true, true},
      {"21", 1, 20, false, false},   {"37", 1, 8, false, true},     {"240", 1, 30, false, true},
      {"250", 1, 30, false, true},   {"254", 1, 20, false, false},  {"414", 13, 13, true, true},
      {"8004", 1, 30, false, true},  {"8006", 18, 18, false, true}, {"8017", 18, 18, false, true},
      {"8018", 18, 18, false, true}, {"8200", 1, 70, false, false}, {"90", 1, 30, false, true},
      {"98", 1, 90, false, true},    {"99", 1, 90, false, true},    {"3103", 6, 6, true, true},
      {"3922", 1, 15, false, true},  {"253", 13, 30, false, true},  {"8003", 14, 30, false, true},
      {"402", 17, 17, false, true},  {"423", 3, 15, false, true},   {"8043", 18, 20, false, false},
  };
  for (const Published& one : all) {
    const auto identifier = Gs1Identifier::named(one.code);
    ASSERT_TRUE(identifier) << one.code;
    EXPECT_EQ(identifier->least(), one.least) << one.code;
    EXPECT_EQ(identifier->most(), one.most) << one.code;
    EXPECT_EQ(identifier->has_predefined_length(), one.predefined) << one.code;
    EXPECT_EQ(identifier->may_be_link_attribute(), one.attribute) << one.code;
  }
}

// The dictionary as of July 2026: its entries, ranges written out.
TEST(Gs1Identifier, KnowsAllOfThem) {
  EXPECT_EQ(all_codes().size(), 541u);
  for (const char* none : {"04",
                           "09",
                           "14",
                           "18",
                           "19",
                           "23",
                           "25",
                           "38",
                           "89",
                           "236",
                           "252",
                           "256",
                           "3106",
                           "3170",
                           "3380",
                           "3700",
                           "3944",
                           "418",
                           "4327",
                           "4334",
                           "718",
                           "7042",
                           "8007 ",
                           "8015",
                           "8044",
                           "1",
                           "",
                           "00000",
                           "0x",
                           "34\x8b"
                           "0"})
    EXPECT_FALSE(Gs1Identifier::named(none)) << none;
}

TEST(Gs1Identifier, IsNeverTheBeginningOfAnotherOne) {
  for (const std::string& code : all_codes()) {
    const auto found = Gs1Identifier::at(code + "0000");
    ASSERT_TRUE(found) << code;
    EXPECT_EQ(found->code(), code);
  }
  EXPECT_FALSE(Gs1Identifier::at("891"));
  EXPECT_FALSE(Gs1Identifier::at(""));
  EXPECT_FALSE(Gs1Identifier::at("2"));
}

// All whose length is predefined have one, by figure 7.8.5-2 of the General Specifications: of
// identifier and data together.
TEST(Gs1Identifier, HasAFixedLengthWhereItIsPredefined) {
  const auto whole = [](std::string_view code) {
    const auto identifier = Gs1Identifier::named(code);
    return identifier->has_predefined_length() ? code.size() + identifier->most() : 0;
  };
  EXPECT_EQ(whole("00"), 20u);
  EXPECT_EQ(whole("03"), 16u);
  EXPECT_EQ(whole("17"), 8u);
  EXPECT_EQ(whole("20"), 4u);
  EXPECT_EQ(whole("3105"), 10u);
  EXPECT_EQ(whole("3691"), 10u);
  EXPECT_EQ(whole("415"), 16u);
  for (const std::string& code : all_codes()) {
    const auto identifier = Gs1Identifier::named(code);
    EXPECT_TRUE(identifier->has_fixed_length() || !identifier->has_predefined_length()) << code;
    EXPECT_FALSE(identifier->takes("")) << code;
  }
}

// The numbers are those of gs1_check_test.cc.
TEST(Gs1Identifier, TakesDataOfItsForm) {
  EXPECT_THAT(fault("00", "006141411234567890"), IsEmpty());
  EXPECT_THAT(fault("01", "09520123456788"), IsEmpty());
  EXPECT_THAT(fault("21", "R1042/a_(x)%"), IsEmpty());
  EXPECT_THAT(fault("253", "9526064000028"), IsEmpty());
  EXPECT_THAT(fault("253", "9526064000028A-7"), IsEmpty());
  EXPECT_THAT(fault("414", "9520123456788"), IsEmpty());
  EXPECT_THAT(fault("423", "056528"), IsEmpty());
  EXPECT_THAT(fault("8003", "09520123456788"), IsEmpty());
  EXPECT_THAT(fault("8003", "09520123456788S-1"), IsEmpty());
  EXPECT_THAT(fault("8006", "095201234567880102"), IsEmpty());
  EXPECT_THAT(fault("8010", "9520123#A-7/"), IsEmpty());
  EXPECT_THAT(fault("8013", "7907665Bm8v2AB"), IsEmpty());
  EXPECT_THAT(fault("8018", "123456789012345675"), IsEmpty());
  EXPECT_THAT(fault("8030", "-1_aZ=="), IsEmpty());
}

TEST(Gs1Identifier, SaysWhatIsWrongAndWhatWouldBeRight) {
  EXPECT_EQ(fault("01", "09520123456789"), "its check digit is 9 and should be 8");
  EXPECT_EQ(fault("00", "006141411234567891"), "its check digit is 1 and should be 0");
  EXPECT_EQ(fault("8003", "09520123456780S-1"), "its check digit is 0 and should be 8");
  EXPECT_EQ(fault("8013", "7907665Bm8v2AC"), "its check characters are AC and should be AB");
  EXPECT_EQ(fault("01", "9520123456788"), "it has 13 characters and needs 14");
  EXPECT_EQ(fault("21", ""), "it has no data and may have 1 to 20");
  EXPECT_EQ(fault("21", "123456789012345678901"), "it has 21 characters and may have 1 to 20");
  EXPECT_EQ(fault("423", "0565"),
            "it has 4 characters, which do not fill its parts, N3 [N3] [N3] [N3] [N3]");
  EXPECT_EQ(fault("01", "0952012345678X"), "its character 14 is \"X\", where digits stand");
  EXPECT_EQ(fault("8003", "19520123456788"), "its character 1 is \"1\", where a 0 stands");
  EXPECT_EQ(fault("21", "R 1"),
            "its character 2 is \" \", where only letters, digits and "
            "!\"%&'()*+,-./:;<=>?_ stand");
  EXPECT_EQ(fault("21", "R\xC3\xB6"),
            "its character 2 is \"\\xc3\", where only letters, digits and "
            "!\"%&'()*+,-./:;<=>?_ stand");
  EXPECT_EQ(fault("8010", "9520a"),
            "its character 5 is \"a\", where capital letters, digits, #, - and / stand");
  EXPECT_EQ(fault("8030", "+"), "its character 1 is \"+\", where base64url stands");
}

TEST(Gs1Identifier, HidesADecimalPointInWeightsLengthsAndMoney) {
  for (const char* code : {"3103", "3693", "3900", "3922", "3943", "3955"})
    EXPECT_TRUE(Gs1Identifier::named(code)->has_implied_decimal_point()) << code;
  for (const char* code : {"30", "37", "21", "98", "8005", "4309"})
    EXPECT_FALSE(Gs1Identifier::named(code)->has_implied_decimal_point()) << code;
}

// The dictionary: its attribute dlpkey.
TEST(Gs1Identifier, KnowsTheKeysOfLinksAndWhatFollowsThem) {
  std::string keys;
  for (const std::string& code : all_codes()) {
    const auto identifier = Gs1Identifier::named(code);
    if (!identifier->is_link_key()) continue;
    keys += code;
    for (const auto sequence : identifier->link_qualifiers()) {
      keys += '/';
      for (const std::string_view qualifier : sequence) (keys += ' ') += qualifier;
    }
    keys += '\n';
  }
  EXPECT_EQ(keys,
            "00/\n01/ 22 10 21/ 235\n253/\n255/\n401/\n402/\n414/ 254/ 7040\n415/ 8020\n417/ 7040\n"
            "8003/\n8004/ 7040\n8006/ 22 10 21\n8010/ 8011\n8013/\n8017/ 8019\n8018/ 8019\n");
}

}  // namespace
}  // namespace girdle::base
