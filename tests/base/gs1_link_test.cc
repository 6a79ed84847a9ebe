// Cases by number: GS1 Barcode Syntax Engine (GS1 AISBL, Apache-2.0), its unit test
// test_dl_parseDLuri, 118 cases. A core is typed in; all of them where GIRDLE_SHARED names a folder
// that has them.
#include "base/gs1_link.h"

#include <gmock/gmock.h>

#include "base/gs1_identifier.h"
#include "base/published_checks.h"

namespace girdle::base {
namespace {

using testing::HasSubstr;

// As the published cases write it: ^ at the beginning, and after an element whose length is not
// predefined.
std::string unbracketed(const Gs1Elements& elements) {
  std::string out;
  bool ends_by_itself = false;
  for (const Gs1Element& element : elements) {
    if (!ends_by_itself) out += '^';
    out += element.code + element.data;
    ends_by_itself = Gs1Identifier::named(element.code)->has_predefined_length();
  }
  return out;
}

std::string read(std::string_view uri) {
  const auto elements = read_gs1(uri);
  return elements ? unbracketed(*elements) : elements.error().text;
}
bool refuses(std::string_view uri) { return !read_gs1(uri).ok(); }

TEST(Gs1Link, ReadsThePublishedOnes) {
  EXPECT_EQ(read("http://a/00/006141411234567890"), "^00006141411234567890");
  EXPECT_EQ(read("HTTPS://a/00/006141411234567890"), "^00006141411234567890");
  EXPECT_EQ(read("https://a:65535/01/12312312312333"), "^0112312312312333");
  EXPECT_EQ(read("https://[2001:db8::1]/01/12312312312333"), "^0112312312312333");
  EXPECT_EQ(read("https://a/00/faux/00/006141411234567890"), "^00006141411234567890");
  EXPECT_EQ(read("https://a/01/12312312312333/22/TEST/10/ABC/21/XYZ"),
            "^011231231231233322TEST^10ABC^21XYZ");
  EXPECT_EQ(read("https://a/8018/123456789012345675/8019/123"), "^8018123456789012345675^8019123");
  EXPECT_EQ(read("https://a/01/12312312312333?&&&99=ABC&&&&&&98=XYZ&&&"),
            "^011231231231233399ABC^98XYZ");
  EXPECT_EQ(read("https://a/01/12312312312333?99=ABC&singleton&unknown=666&98=XYZ"),
            "^011231231231233399ABC^98XYZ");
  EXPECT_EQ(read("https://a/01/12312312312333/22/ABC+123?99=ABC&98=XYZ%2f987"),
            "^011231231231233322ABC+123^99ABC^98XYZ/987");
  EXPECT_EQ(read("https://a/stem/00/006141411234567890?99=ABC#fragment"),
            "^0000614141123456789099ABC");
  EXPECT_EQ(read("https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426"),
            "^010952012345678810ABC1^2112345^17180426");
  EXPECT_EQ(read("https://id.gs1.org/414/9520123456788/254/32a%2Fb"), "^414952012345678825432a/b");
  EXPECT_EQ(read("https://id.gs1.org/01/09520123456788/235/XYZ?10=ABC123"),
            "^0109520123456788235XYZ^10ABC123");
  // GS1's EPCIS examples.
  EXPECT_EQ(read("https://id.gs1.org/8004/4000001111"), "^80044000001111");
}

TEST(Gs1Link, RefusesThePublishedOnes) {
  for (const char* uri :
       {"http:///", "http://a", "http://a/b/", "HtTp://a/b/00/006141411234567890",
        "https://00/006141411234567890", "https://[fe80::1%25lo]/01/12312312312333",
        "https://a$/006141411234567890", "https://a/01/12312312312333`bad",
        "https://a/stem/00/006141411234567890/", "https://a/01//12312312312333",
        "https://a/01/12312312312333?99=", "https://a/01/12312312312333?99=ABC&999=faux",
        "https://a/01/12312312312333/22/ABC%2d123?99=ABC&98=XYZ+987",
        "https://example.com/01/09520123456788?10=ABC123",
        "https://id.gs1.org/01/09520123456788/10/ABC123?99=XYZ789&99=XYZ789",
        "https://example.com/01/09520123456788/89/ABC123?99=XYZ", "https://a/01/1231231231233%003",
        "https://a/01/12312312312333/99/ABC", "https://a/253/1231231231232TEST56789012345678"})
    EXPECT_TRUE(refuses(uri)) << uri;
}

TEST(Gs1Link, SaysWhatIsWrong) {
  EXPECT_THAT(read("HtTp://a/00/006141411234567890"), HasSubstr("neither https:// nor http://"));
  EXPECT_EQ(read("https://a/01/12312312312333`"),
            "its address has \"`\", which stands there only as % and two hexadecimal digits");
  EXPECT_EQ(read("https://a/01/12312312312333?x=%2"),
            "in its address a % is not followed by two hexadecimal digits");
  EXPECT_EQ(read("https://a$b/01/12312312312333"),
            "its address has no host, or one that is none: \"a$b\"");
  EXPECT_EQ(read("https://a/89/X"), "(89) in its path is no application identifier of GS1");
  EXPECT_EQ(
      read("https://a/gtin/12312312312333"),
      "its path does not end with a key of GS1, as in /01/09520123456788 or "
      "/01/09520123456788/21/12345; compressed links, and words such as /gtin/, are not read");
  EXPECT_EQ(read("https://a/01/12312312312333/10/A/22/B"),
            "in its path after (01) may stand, in this order, (22), (10) and (21), or (235)");
  EXPECT_EQ(read("https://a/00/006141411234567890/21/A"),
            "in its path nothing may stand after (00)");
  EXPECT_EQ(read("https://a/01/12312312312333/21/A/21/A"), "it has (21) twice");
  EXPECT_EQ(read("https://a/01/12312312312333?21=A"),
            "(21) stands in its query and belongs to its path");
  EXPECT_EQ(read("https://a/01/12312312312333?999=A"),
            "(999) in its query is no application identifier of GS1");
  EXPECT_EQ(read("https://a/01/12312312312334"),
            "of (01) \"12312312312334\": its check digit is 4 and should be 3");
}

// Grammar of the URI Syntax standard, 1.4: queryStringDelim.
TEST(Gs1Link, TakesSemicolonsBetweenParametersToo) {
  EXPECT_EQ(read("https://a/01/12312312312333?99=ABC;98=XYZ"), "^011231231231233399ABC^98XYZ");
  EXPECT_EQ(read("https://a/01/12312312312333?99=ABC%3B98"), "^011231231231233399ABC;98");
}

// ISO/IEC 15424: QR codes and DataMatrix without FNC1, in which such links stand.
TEST(Gs1Link, StandsInCodesThatAreNotOtherwiseOfGs1) {
  EXPECT_EQ(read("]Q1https://a/01/12312312312333/21/R1042"), "^011231231231233321R1042");
  EXPECT_EQ(read("]d1HTTPS://a/01/12312312312333/21/R1042"), "^011231231231233321R1042");
  EXPECT_TRUE(refuses("]Q1R1042"));
}

struct Case {
  std::string uri, expected;
  bool accepted, zeros, unknown, words;
};

std::vector<Case> published_cases() {
  simdjson::dom::parser parser;
  std::vector<Case> cases;
  const std::string file =
      std::string(shared_folder()) + "/suites/gs1-digital-link/dl_parse_cases.json";
  for (const simdjson::dom::element one : parser.load(file).get_array()) {
    cases.push_back({text_of(one["uri"]), text_of(one["expect"]), bool(one["accept"]),
                     bool(one["permit_zero_suppressed_gtin"]), bool(one["permit_unknown_ais"]),
                     bool(one["convenience_alphas"])});
  }
  return cases;
}

// What we do not read, and the cases allow to: item numbers without their zeros, words in place of
// identifiers, identifiers that GS1 does not have. The standard has none of it since 1.2; a text
// that has is set aside, and nothing guessed.
TEST(Gs1Link, AgreesWithAllPublishedCasesWhereTheyAreThere) {
  if (shared_folder() == nullptr)
    GTEST_SKIP() << "GIRDLE_SHARED is not set; the cores above stand for it";
  size_t agreed = 0, without_zeros = 0, with_words = 0, with_unknown = 0;
  for (const Case& one : published_cases()) {
    const auto elements = read_gs1(one.uri);
    if (one.accepted && (one.zeros || one.words || one.unknown)) {
      ++(one.zeros ? without_zeros : one.words ? with_words : with_unknown);
      EXPECT_FALSE(elements) << one.uri;
      continue;
    }
    ++agreed;
    EXPECT_EQ(elements.ok(), one.accepted) << one.uri << (elements ? "" : elements.error().text);
    EXPECT_EQ(elements ? unbracketed(*elements) : "", one.expected) << one.uri;
  }
  EXPECT_EQ(without_zeros, 11u);
  EXPECT_EQ(with_words, 3u);
  EXPECT_EQ(with_unknown, 1u);
  EXPECT_EQ(agreed, 103u);
}

}  // namespace
}  // namespace girdle::base
