// XML W3C Conformance Test Suite (www.w3.org/XML/Test, 2013-09-23): short documents of its kinds
// that must be read, and that must not, typed in with the names of the tests that they follow.
// Those with a document type declaration are left out but for one: none such is read.
#include <gmock/gmock.h>

#include "plugins/test_host.h"
#include "xml/xml_reader.h"

namespace girdle::xml {
namespace {

using plugins_test::Heard;
using plugins_test::read;
using std::string_literals::operator""s;

Heard read_doc(const std::string& text) {
  const Heard heard = read(descriptor(), {text}, {{"record", "/doc"}, {"repeated", "number"}});
  EXPECT_THAT(heard.breaches, testing::IsEmpty());
  return heard;
}

TEST(XmlSuite, ReadsTheCoreThatIsWellFormed) {
  const std::pair<const char*, std::string> core[] = {
      {"valid-sa-001", "<doc></doc>"},
      {"valid-sa-002", "<doc ></doc>"},
      {"valid-sa-003", "<doc></doc >"},
      {"valid-sa-004", "<doc a1=\"v1\"></doc>"},
      {"valid-sa-005", "<doc a1 = \"v1\"></doc>"},
      {"valid-sa-006", "<doc a1='v1'></doc>"},
      {"valid-sa-007", "<doc>&#32;</doc>"},
      {"valid-sa-008", "<doc>&amp;&lt;&gt;&quot;&apos;</doc>"},
      {"valid-sa-009", "<doc>&#x20;</doc>"},
      {"valid-sa-010", "<doc a1=\"v1\" ></doc>"},
      {"valid-sa-012", "<doc :=\"v1\"></doc>"},
      {"valid-sa-013", "<doc _.-0123456789=\"v1\"></doc>"},
      {"valid-sa-016", "<doc><?pi?></doc>"},
      {"valid-sa-017", "<doc><?pi some data ? > ?></doc>"},
      {"valid-sa-018", "<doc><![CDATA[<foo>]]></doc>"},
      {"valid-sa-019", "<doc><![CDATA[<&]]></doc>"},
      {"valid-sa-020", "<doc><![CDATA[<&]>]]]></doc>"},
      {"valid-sa-021", "<doc><!-- a comment --></doc>"},
      {"valid-sa-022", "<doc><!-- a comment ->--></doc>"},
      {"valid-sa-034", "<doc/>"},
      {"valid-sa-035", "<doc />"},
      {"valid-sa-036", "<doc></doc>\r\n<?pi data?>\n"},
      {"valid-sa-037", "<doc></doc>\n<!-- comment -->\n\n"},
      {"valid-sa-038", "\n<!-- comment -->\n<doc></doc>"},
      {"valid-sa-039", "<?pi data?><doc></doc>"},
      {"valid-sa-040", "<doc a1=\"&quot;&lt;&amp;&gt;&apos;\"></doc>"},
      {"valid-sa-041", "<doc a1=\"&#65;\"></doc>"},
      {"valid-sa-042", "<doc>&#00000000000000000000000000000000065;</doc>"},
      {"valid-sa-043", "<doc a1=\"foo\nbar\"></doc>"},
      {"valid-sa-047", "<doc>X\r\nY</doc>"},
      {"valid-sa-048", "<doc>]</doc>"},
      {"valid-sa-052", "<doc>\xF0\x90\x80\x80\xF4\x8F\xBF\xBD</doc>"},
  };
  for (const auto& [name, text] : core) {
    const Heard heard = read_doc(text);
    EXPECT_EQ(heard.records.size(), 1u) << name << "\n" << heard.text();
    EXPECT_THAT(heard.asides, testing::IsEmpty()) << name << "\n" << heard.text();
  }
}

TEST(XmlSuite, SetsTheCoreAsideThatIsNotWellFormed) {
  const std::pair<const char*, std::string> core[] = {
      {"not-wf-sa-001", "<doc><doc ?><a</a></doc>"},
      {"not-wf-sa-002", "<doc><.doc></.doc></doc>"},
      {"not-wf-sa-003", "<doc><? pi ?></doc>"},
      {"not-wf-sa-004", "<doc><?target some data></doc>"},
      {"not-wf-sa-006", "<doc><!-- bad -- comment --></doc>"},
      {"not-wf-sa-007", "<doc>& no reference</doc>"},
      {"not-wf-sa-008", "<doc>&.entity;</doc>"},
      {"not-wf-sa-009", "<doc>&#RE;</doc>"},
      {"not-wf-sa-010", "<doc>A & B</doc>"},
      {"not-wf-sa-011", "<doc a1></doc>"},
      {"not-wf-sa-012", "<doc a1=v1></doc>"},
      {"not-wf-sa-013", "<doc a1=\"v1></doc>"},
      {"not-wf-sa-014", "<doc a1=\"<foo>\"></doc>"},
      {"not-wf-sa-015", "<doc a1=></doc>"},
      {"not-wf-sa-016", "<doc a1=\"v1\" \"v2\"></doc>"},
      {"not-wf-sa-017", "<doc><![CDATA[</doc>"},
      {"not-wf-sa-018", "<doc>< [CDATA[ data ]]></doc>"},
      {"not-wf-sa-019", "<doc></></doc>"},
      {"not-wf-sa-020", "<doc a1=\"A & B\"></doc>"},
      {"not-wf-sa-021", "<doc a1=\"a&b\"></doc>"},
      {"not-wf-sa-022", "<doc a1=\"&#123:\"></doc>"},
      {"not-wf-sa-023", "<doc 12=\"34\"></doc>"},
      {"not-wf-sa-024", "<doc><123></123></doc>"},
      {"not-wf-sa-025", "<doc>]]></doc>"},
      {"not-wf-sa-026", "<doc>]]]></doc>"},
      {"not-wf-sa-027", "<doc>\n<!-- abc\n</doc>"},
      {"not-wf-sa-028", "<doc>\n<?a pi that is not closed\n</doc>"},
      {"not-wf-sa-029", "<doc>abc]]]>def</doc>"},
      {"not-wf-sa-030", "<doc>A form feed (\x0C) is not legal</doc>"},
      {"not-wf-sa-031", "<doc><?pi a form feed (\x0C)?></doc>"},
      {"not-wf-sa-032", "<doc><!-- a form feed (\x0C) --></doc>"},
      {"not-wf-sa-033", "<doc>abc\x1B"s + "def</doc>"},
      {"not-wf-sa-034", "<doc\x0C>a</doc>"},
      {"not-wf-sa-035", "<doc>1 < 2 but not in XML</doc>"},
      {"not-wf-sa-036", "<doc></doc>\nIllegal data\n"},
      {"not-wf-sa-037", "<doc></doc>&#32;"},
      {"not-wf-sa-038", "<doc x=\"foo\" y=\"bar\" x=\"baz\"></doc>"},
      {"not-wf-sa-039", "<doc><a></aa></doc>"},
      {"not-wf-sa-040", "<doc></doc><doc></doc>"},
      {"not-wf-sa-041", "<doc/><doc></doc>"},
      {"not-wf-sa-042", "<doc/></doc/>"},
      {"not-wf-sa-043", "<doc/>\nIllegal data"},
      {"not-wf-sa-044", "<doc/><doc/>"},
      {"not-wf-sa-045", "<doc>\n<a/\n</doc>"},
      {"not-wf-sa-046", "<doc>\n<a/</a>\n</doc>"},
      {"not-wf-sa-047", "<doc>\n<a / >\n</doc>"},
      {"not-wf-sa-048", "<doc>\n</doc>\n<![CDATA[]]>"},
      {"not-wf-sa-049", "<doc>\n<a><![CDATA[xyz]]]></a>\n<![CDATA[]]></a>\n</doc>"},
      {"not-wf-sa-050", ""},
      {"not-wf-sa-051", "<doc>\n<![CDATA[]]>\n</doc"},
      {"not-wf-sa-052", "<!-- a comment ending like this -->&#32;<doc></doc>"},
      {"not-wf-sa-053", "<doc></DOC>"},
      {"not-wf-sa-071", "<doc><?xml version=\"1.0\"?></doc>"},
      {"not-wf-sa-072", "<doc>&foo;</doc>"},
      {"not-wf-sa-088", "<doc>&#x110000;</doc>"},
      {"not-wf-sa-093", "<doc>&#X58;</doc>"},
      {"not-wf-sa-094", "<?xml VERSION=\"1.0\"?><doc></doc>"},
      {"not-wf-sa-095", "<?xml encoding=\"UTF-8\" version=\"1.0\"?><doc></doc>"},
      {"not-wf-sa-096", "<?xml version=\"1.0\"encoding=\"UTF-8\" ?><doc></doc>"},
      {"not-wf-sa-097", "<?xml version=\"1.0' ?><doc></doc>"},
      {"not-wf-sa-098", "<?xml version=\"1.0\" version=\"1.0\"?><doc></doc>"},
      {"not-wf-sa-099", "<?xml version=\"1.0\" valid=\"no\" ?><doc></doc>"},
      {"not-wf-sa-100", "<?xml version=\"1.0\" standalone=\"YES\" ?><doc></doc>"},
      {"not-wf-sa-101", "<?xml version=\"1.0\" encoding=\" UTF-8\"?><doc></doc>"},
      {"not-wf-sa-102", "<?xml version=\"1.0 \" ?><doc></doc>"},
      {"not-wf-sa-147", "\n<?xml version=\"1.0\"?>\n<doc></doc>"},
      {"not-wf-sa-148", "<!-- -->\n<?xml version=\"1.0\"?>\n<doc></doc>"},
      {"not-wf-sa-152", "<?xml version=\"1.0\"><doc></doc>"},
      {"not-wf-sa-166", "<doc>\xEF\xBF\xBF</doc>"},
      {"not-wf-sa-168", "<doc>\xED\xA0\x80</doc>"},
      {"not-wf-sa-170", "<doc>\xF8\x88\x80\x80\x80</doc>"},
      {"not-wf-sa-173", "<doc a='\x12'></doc>"},
      {"a DTD", "<!DOCTYPE doc [<!ELEMENT doc ANY>]><doc></doc>"},
  };
  for (const auto& [name, text] : core) {
    const Heard heard = read_doc(text);
    EXPECT_FALSE(heard.asides.empty()) << name << "\n" << heard.text();
  }
}

}  // namespace
}  // namespace girdle::xml
