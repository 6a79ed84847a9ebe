// Against Python's expat: what is well-formed, and what an element holds.
#include <gmock/gmock.h>
#include <simdjson.h>

#include "plugins/columns/python.h"
#include "plugins/test_host.h"
#include "xml/xml_reader.h"

namespace girdle::xml {
namespace {

using Fields = std::vector<std::pair<std::string, std::string>>;

std::vector<Fields> expected(simdjson::dom::array records, size_t& mixed) {
  std::vector<Fields> all;
  for (const simdjson::dom::element record : records) {
    if (record.is_null()) {
      ++mixed;
      continue;
    }
    Fields& fields = all.emplace_back();
    for (const simdjson::dom::array field : record.get_array())
      fields.emplace_back(std::string_view(field.at(0)), std::string_view(field.at(1)));
  }
  return all;
}

TEST(XmlOutside, ReadsWhatExpatReads) {
  size_t records = 0, asides = 0, refused = 0;
  simdjson::dom::parser parser;
  for (const std::string& line : plugins_test::lines_of_python("xml/elements.py")) {
    const simdjson::dom::element one = parser.parse(line);
    const std::string document = plugins_test::from_hexadecimal(one["document"]);
    const plugins_test::Heard heard = plugins_test::read(
        descriptor(), {document}, {{"record", "/export/stone"}, {"repeated", "number"}});
    SCOPED_TRACE(document + "\n" + heard.text());
    EXPECT_THAT(heard.breaches, testing::IsEmpty());
    if (one["records"].is_null()) {
      EXPECT_THAT(heard.asides, testing::Not(testing::IsEmpty()));
      ++refused;
      continue;
    }
    size_t mixed = 0;
    const std::vector<Fields> wanted = expected(one["records"], mixed);
    std::vector<Fields> found;
    for (const auto& record : heard.records) found.push_back(record.fields);
    EXPECT_EQ(found, wanted);
    EXPECT_EQ(heard.asides.size(), mixed);
    records += found.size();
    asides += mixed;
    if (HasFailure()) return;
  }
  EXPECT_GT(records, 1000u);
  EXPECT_GT(asides, 50u);
  EXPECT_GT(refused, 50u);
}

}  // namespace
}  // namespace girdle::xml
