// Against Python: str slices and str.expandtabs (characters), struct.unpack (bytes).
#include <gmock/gmock.h>
#include <simdjson.h>

#include "columns/columns_reader.h"
#include "plugins/columns/python.h"
#include "plugins/test_host.h"

namespace girdle::columns {
namespace {

using plugins_test::Heard;
using plugins_test::Options;

Options options_of(simdjson::dom::object object) {
  Options options;
  for (const auto& [name, value] : object)
    options[std::string(name)] = std::string(std::string_view(value));
  return options;
}

// Values of each line that is a record, "aside" for each other; in the order of the document.
std::vector<std::vector<std::string>> results_of(const Heard& heard) {
  std::map<uint64_t, std::vector<std::string>> by_offset;
  for (const auto& record : heard.records) {
    for (const auto& [name, value] : record.fields) by_offset[record.offset].push_back(value);
  }
  for (const auto& aside : heard.asides) by_offset[aside.offset] = {"aside", aside.reason};
  std::vector<std::vector<std::string>> results;
  for (auto& [offset, result] : by_offset) results.push_back(std::move(result));
  return results;
}

TEST(ColumnsOutside, CutsAsPythonSlicesDo) {
  size_t records = 0;
  size_t asides = 0;
  simdjson::dom::parser parser;
  for (const std::string& line : plugins_test::lines_of_python("columns/slices.py")) {
    const simdjson::dom::element one = parser.parse(line);
    const Heard heard =
        plugins_test::read(descriptor(), {plugins_test::from_hexadecimal(one["document"])},
                           options_of(one["options"]));
    SCOPED_TRACE(line + "\n" + heard.text());
    const auto results = results_of(heard);
    const simdjson::dom::array expected = one["results"];
    ASSERT_EQ(results.size(), expected.size());
    size_t i = 0;
    for (const simdjson::dom::element values : expected) {
      const std::vector<std::string>& result = results[i++];
      if (values.is_null()) {
        EXPECT_EQ(result[0], "aside");
        ++asides;
        continue;
      }
      std::vector<std::string> wanted;
      for (const std::string_view value : values.get_array()) wanted.emplace_back(value);
      EXPECT_EQ(result, wanted);
      ++records;
    }
    if (HasFailure()) return;
  }
  EXPECT_GT(records, 1000u);
  EXPECT_GT(asides, 500u);
}

}  // namespace
}  // namespace girdle::columns
