#include "base/gs1_code.h"

#include <gmock/gmock.h>

namespace girdle::base {
namespace {

using std::string_literals::operator""s;
using testing::HasSubstr;
using testing::StartsWith;

// "(01)09520123456788(21)12345", or why not.
std::string read(std::string_view text) {
  const auto elements = read_gs1(text);
  if (!elements) return elements.error().text;
  std::string out;
  for (const Gs1Element& element : *elements) out += '(' + element.code + ')' + element.data;
  return out;
}

// GS1 Barcode Syntax Engine (GS1 AISBL, Apache-2.0), its unit test of scan data: data and the
// symbology identifiers of DataMatrix and DataBar.
TEST(Gs1Code, ReadsWhatScannersSend) {
  EXPECT_EQ(read("]d2011231231231233310ABC123\x1D"
                 "99TESTING"),
            "(01)12312312312333(10)ABC123(99)TESTING");
  EXPECT_EQ(read("]e0011231231231233310ABC123\x1D"
                 "11991225"
                 "98TESTING\x1D"
                 "97XYZ"),
            "(01)12312312312333(10)ABC123(11)991225(98)TESTING(97)XYZ");
  // ISO/IEC 15424 for the others that say GS1; the data are the first's.
  for (const char* symbology : {"]C1", "]Q3", "]J1"}) {
    EXPECT_EQ(read(symbology + "011231231231233310ABC123\x1D"
                               "99TESTING"s),
              "(01)12312312312333(10)ABC123(99)TESTING");
  }
}

// The same test: an EAN-13 gets the form of 14 digits. EAN-8: ISO/IEC 15424, and a number of
// python-stdnum's doctests.
TEST(Gs1Code, ReadsPlainItemNumbersByTheirSymbology) {
  EXPECT_EQ(read("]E02112345678900"), "(01)02112345678900");
  EXPECT_EQ(read("]E473513537"), "(01)00000073513537");
  EXPECT_EQ(read("]E02112345678901"),
            "of (01) \"02112345678901\": its check digit is 1 and should be 0");
  EXPECT_EQ(read("]E0211234567890"),
            "it has 12 characters after its symbology identifier, and 13 digits stand there");
  EXPECT_THAT(read("]E021123456789OO"), HasSubstr("its character 13 is \"O\""));
}

// GS1's EPCIS examples: the element strings of their URIs.
TEST(Gs1Code, ReadsTheHumanReadableForm) {
  EXPECT_EQ(read("(01)10614141073464(21)2018"), "(01)10614141073464(21)2018");
  EXPECT_EQ(read("(8004)4000001111"), "(8004)4000001111");
  // Printed below symbols with spaces, which no data have: common practice, no source.
  EXPECT_EQ(read("(01) 10614141073464 (21) 2018"), "(01)10614141073464(21)2018");
  EXPECT_EQ(read("(10)A(1)B(12345)(21)2018"), "(10)A(1)B(12345)(21)2018");
}

TEST(Gs1Code, ReadsSeparatorsWithoutASymbologyIdentifier) {
  EXPECT_EQ(read("10R1042\x1D"
                 "21S10"),
            "(10)R1042(21)S10");
  // FNC1 in the first place, and where it is not needed: General Specifications, 7.8.
  EXPECT_EQ(read("\x1D"
                 "0109520123456788\x1D"
                 "21R1042\x1D"),
            "(01)09520123456788(21)R1042");
  EXPECT_EQ(read("]C1\x1D"
                 "21R1042"),
            "(21)R1042");
}

TEST(Gs1Code, KeepsOneOfEqualElementsAndRefusesDifferentOnes) {
  EXPECT_EQ(read("(21)A(01)10614141073464(21)A"), "(21)A(01)10614141073464");
  EXPECT_EQ(read("(21)A(21)B"), "it has (21) twice, with different data");
  EXPECT_EQ(read("]C121A\x1D"
                 "21B"),
            "it has (21) twice, with different data");
}

// A wedge scanner drops the separator (platform notes: measured). Which ends may be elements, the
// table of identifiers tells.
TEST(Gs1Code, RefusesElementsThatMayHaveSwallowedTheNext) {
  const std::string gtin = "0109520123456788";
  EXPECT_EQ(read(gtin + "10ABC12321R1"),
            "of (10) \"ABC12321R1\": the end may be another element, for there is neither a "
            "separator nor a symbology identifier; let the scanner send the separator as 0x1D, or "
            "the symbology identifier");
  EXPECT_THAT(read("21R1042" + gtin), HasSubstr("the end may be another element"));
  EXPECT_THAT(read("21R1042"), StartsWith("of (21) \"R1042\": the end may be"));  // R and (10)42
  EXPECT_THAT(read(gtin + "21A10B20C"), HasSubstr("the end may be"));             // A and (10)B20C
  EXPECT_THAT(read("10A21B10614141073464"), HasSubstr("the end may be"));
  // What is sure to be one: no end of it is an element.
  EXPECT_EQ(read(gtin), "(01)09520123456788");
  EXPECT_EQ(read(gtin + "21R-7"), "(01)09520123456788(21)R-7");
  EXPECT_EQ(read(gtin + "21ABC"), "(01)09520123456788(21)ABC");
  EXPECT_EQ(read(gtin + "21A10"), "(01)09520123456788(21)A10");  // (10) without data is none
  // With a separator anywhere none was dropped, nor with the symbology identifier.
  EXPECT_EQ(read(gtin + "10ABC12321R1\x1D"), "(01)09520123456788(10)ABC12321R1");
  EXPECT_EQ(read("]C1" + gtin + "10ABC12321R1"), "(01)09520123456788(10)ABC12321R1");
  EXPECT_EQ(read("(21)R1042"), "(21)R1042");
}

TEST(Gs1Code, EndsFixedLengthsThatAreNotPredefinedWithASeparator) {
  EXPECT_EQ(read("]C18017123456789012345675\x1D"
                 "21A"),
            "(8017)123456789012345675(21)A");
  EXPECT_THAT(read("]C1801712345678901234567521A"), HasSubstr("it has 21 characters and needs 18"));
  // Where separators are dropped the end is as sure as with one.
  EXPECT_EQ(read("801712345678901234567521A"), "(8017)123456789012345675(21)A");
}

TEST(Gs1Code, SaysWhatIsWrong) {
  EXPECT_EQ(read("(89)ABC"), "(89) is no application identifier of GS1");
  EXPECT_EQ(read("(01)09520123456789"),
            "of (01) \"09520123456789\": its check digit is 9 and should be 8");
  EXPECT_EQ(read("(01)9520123456788"),
            "of (01) \"9520123456788\": it has 13 characters and needs 14");
  EXPECT_EQ(read("]C1010952012345678889X"),
            "where \"89X\" begins, there is no application identifier of GS1");
  EXPECT_EQ(read("]C110A\x1D\x1D"
                 "21B"),
            "where \"\\x1d21B\" begins, there is no application identifier of GS1");
  EXPECT_EQ(read("(01)09520123456788(21)"), "of (21) \"\": it has no data and may have 1 to 20");
  EXPECT_EQ(read("]C1"), "it has no elements");
  EXPECT_EQ(read("\x1D"), "it has no elements");
  EXPECT_EQ(read("]C0R1042"),
            "its symbology identifier ]C0 is not that of a GS1 code, which is ]C1, ]d2, ]Q3, ]e0 "
            "or ]J1");
  for (const char* none : {"R1042", "", "#", "()", "(1)2", "(12345)6", "(21", "(2A)B", "ftp://a"})
    EXPECT_THAT(read(none), StartsWith("it is no GS1 code")) << none;
  EXPECT_THAT(read("]"), HasSubstr("symbology identifier ] is not"));
}

TEST(Gs1Code, LooksAtNoLongerTextsThanCodesHave) {
  const std::string most = "]C1" + std::string(kMaxGs1Text - 3, '9');
  EXPECT_THAT(read(most), HasSubstr("and may have 1 to 90"));
  EXPECT_EQ(read(most + "9"), "it has 8193 bytes, and a code at most 8192");
}

TEST(Gs1Code, FindsDataByIdentifier) {
  const auto elements = read_gs1("(01)09520123456788(21)12345");
  ASSERT_TRUE(elements);
  ASSERT_NE(gs1_data(*elements, "21"), nullptr);
  EXPECT_EQ(*gs1_data(*elements, "21"), "12345");
  EXPECT_EQ(gs1_data(*elements, "10"), nullptr);
}

}  // namespace
}  // namespace girdle::base
