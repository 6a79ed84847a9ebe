// Against Python: configparser (labels, values, lines that go on, repeated labels) and
// unicodedata (small letters).
#include <gmock/gmock.h>
#include <simdjson.h>

#include "labelled/fold.h"
#include "labelled/labelled_reader.h"
#include "plugins/columns/python.h"
#include "plugins/test_host.h"

namespace girdle::labelled {
namespace {

using plugins_test::Heard;
using Fields = std::vector<std::pair<std::string, std::string>>;

void expect_as_python(simdjson::dom::element one, size_t& records, size_t& asides) {
  const std::string_view fold = one["fold"];
  const Heard heard = plugins_test::read(
      descriptor(), {plugins_test::from_hexadecimal(one["document"])},
      {{"continued", "indented"}, {"ignore", "Page 1"}, {"fold", std::string(fold)}});
  SCOPED_TRACE(heard.text());
  if (one["fields"].is_null()) {
    EXPECT_EQ(heard.asides.size(), 1u);
    ++asides;
    return;
  }
  Fields fields;
  for (const simdjson::dom::array field : one["fields"].get_array())
    fields.emplace_back(std::string_view(field.at(0)), std::string_view(field.at(1)));
  ASSERT_EQ(heard.records.size(), fields.empty() ? 0u : 1u);
  if (fields.empty()) return;
  EXPECT_EQ(heard.records[0].fields, fields);
  ++records;
}

TEST(LabelledOutside, ReadsSlipsAndFoldsLabelsAsPythonDoes) {
  size_t records = 0;
  size_t asides = 0;
  size_t letters = 0;
  simdjson::dom::parser parser;
  for (const std::string& line : plugins_test::lines_of_python("labelled/slips.py")) {
    const simdjson::dom::element one = parser.parse(line);
    SCOPED_TRACE(line);
    if (std::string_view letter; one["letter"].get(letter) == simdjson::SUCCESS) {
      std::string small;
      append_folded(letter, {.letters = true, .space = false}, small);
      EXPECT_EQ(small, std::string_view(one["small"]));
      ++letters;
    } else {
      expect_as_python(one, records, asides);
    }
    if (HasFailure()) return;
  }
  EXPECT_GT(records, 400u);
  EXPECT_GT(asides, 400u);
  EXPECT_GT(letters, 250u);
}

}  // namespace
}  // namespace girdle::labelled
