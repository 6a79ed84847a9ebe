// JSON Parsing Test Suite (github.com/nst/JSONTestSuite, MIT): what must be JSON, and what must not
// be. The whole suite where GIRDLE_SHARED names a folder that has it; a core that was typed in,
// always. And published CSV cases, the same way.
#include <gmock/gmock.h>
#include <simdjson.h>

#include <cstdlib>
#include <filesystem>
#include <set>

#include "delimited/delimited_reader.h"
#include "json/json_reader.h"
#include "plugins/corpus.h"

namespace girdle::plugins_test {
namespace {

using std::string_literals::operator""s;
namespace fs = std::filesystem;

// JSON that is no object, or holds what we do not take in a record, is set aside too; but for
// another reason.
bool is_taken_for_json(const Heard& heard) {
  for (const Aside& aside : heard.asides) {
    const bool json = aside.reason.starts_with("not an object") ||
                      aside.reason.find("comes twice") != std::string::npos;
    if (!json) return false;
  }
  return true;
}

void expect_json(const std::string& name, const std::string& text) {
  const Heard heard = read(json::descriptor(), {text});
  EXPECT_TRUE(is_taken_for_json(heard)) << name << "\n" << heard.text();
  EXPECT_THAT(heard.breaches, testing::IsEmpty()) << name;
}

void expect_no_json(const std::string& name, const std::string& text) {
  const Heard heard = read(json::descriptor(), {text});
  EXPECT_FALSE(is_taken_for_json(heard)) << name << "\n" << heard.text();
  EXPECT_THAT(heard.breaches, testing::IsEmpty()) << name;
}

TEST(JsonSuite, TakesTheCoreThatMustBeTaken) {
  const std::pair<const char*, std::string> core[] = {
      {"y_array_arraysWithSpaces", "[[]   ]"},
      {"y_array_ending_with_newline", "[\"a\"]\n"},
      {"y_array_with_1_and_newline", "[1\n]"},
      {"y_number_0e+1", "[0e+1]"},
      {"y_number_minus_zero", "[-0]"},
      {"y_number_real_capital_e_neg_exp", "[1E-2]"},
      {"y_object_empty_key", "{\"\":0}"},
      {"y_object_escaped_null_in_key", "{\"foo\\u0000bar\": 42}"},
      {"y_object_duplicated_key", "{\"a\":\"b\",\"a\":\"c\"}"},
      {"y_object_with_newlines", "{\n\"a\": \"b\"\n}"},
      {"y_string_accepted_surrogate_pair", "[\"\\uD801\\udc37\"]"},
      {"y_string_with_del_character",
       "[\"a\x7F"
       "a\"]"},
      {"y_structure_lonely_int", "42"},
      {"y_structure_lonely_null", "null"},
      {"y_structure_string_empty", "\"\""},
      {"y_structure_whitespace_array", " [] "},
  };
  for (const auto& [name, text] : core) expect_json(name, text);
}

TEST(JsonSuite, RefusesTheCoreThatMustBeRefused) {
  const std::pair<const char*, std::string> core[] = {
      {"n_array_1_true_without_comma", "[1 true]"},
      {"n_array_comma_after_close", "[\"\"],"},
      {"n_array_double_comma", "[1,,2]"},
      {"n_array_extra_close", "[\"x\"]]"},
      {"n_array_extra_comma", "[\"\",]"},
      {"n_array_just_minus", "[-]"},
      {"n_array_unclosed_trailing_comma", "[1,"},
      {"n_incomplete_true", "[tru]"},
      {"n_number_-01", "[-01]"},
      {"n_number_.2e-3", "[.2e-3]"},
      {"n_number_hex_1_digit", "[0x1]"},
      {"n_number_NaN", "[NaN]"},
      {"n_number_neg_real_without_int_part", "[-.123]"},
      {"n_object_trailing_comma", "{\"id\":0,}"},
      {"n_object_unquoted_key", "{a: \"b\"}"},
      {"n_object_trailing_comment", "{\"a\":\"b\"}/**/"},
      {"n_single_space", " "},
      {"n_string_escape_x", "[\"\\x00\"]"},
      {"n_string_unescaped_newline", "[\"new\nline\"]"},
      {"n_string_unescaped_tab", "[\"\t\"]"},
      {"n_structure_angle_bracket_.", "<.>"},
      {"n_structure_no_data", ""},
      {"n_structure_object_with_trailing_garbage", "{\"a\": true} \"x\""},
      {"n_structure_uescaped_LF_before_string", "\\u000A\"\""},
      {"n_structure_unclosed_object", "{\"asd\":\"asd\""},
      {"n_structure_null-byte-outside-string", "[\0]"s},
      {"n_structure_100000_opening_arrays", std::string(100000, '[')},
  };
  for (const auto& [name, text] : core) expect_no_json(name, text);
}

TEST(JsonSuite, AgreesWithTheWholeSuiteWhereItIsThere) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr) GTEST_SKIP() << "GIRDLE_SHARED is not set; the cores above stand for it";
  size_t must = 0;
  size_t must_not = 0;
  for (const auto& entry : fs::directory_iterator(shared + "/suites/JSONTestSuite/test_parsing"s)) {
    const std::string name = entry.path().filename();
    const std::string text = file_bytes(entry.path());
    if (name.starts_with("y_")) {
      ++must;
      expect_json(name, text);
    } else if (name.starts_with("n_")) {
      ++must_not;
      expect_no_json(name, text);
    } else {
      EXPECT_THAT(read(json::descriptor(), {text}).breaches, testing::IsEmpty()) << name;
    }
  }
  EXPECT_EQ(must, 95u);
  EXPECT_EQ(must_not, 188u);
}

std::string from_hex(std::string_view hex) {
  std::string bytes;
  for (size_t i = 0; i + 1 < hex.size(); i += 2)
    bytes.push_back(static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16)));
  return bytes;
}

// "[[\"a\"], …]" as rows with columns 1, 2, …; "[{\"a\": …}, …]" as records.
void expect_published(const std::string& name, const std::string& bytes,
                      const std::string& expected) {
  simdjson::dom::parser parser;
  simdjson::dom::array rows;
  const bool listed = parser.parse(expected).get(rows) == simdjson::SUCCESS;
  if (!listed) {
    EXPECT_FALSE(read(delimited::descriptor(), {bytes}).asides.empty()) << name;
    return;
  }
  const bool by_name = rows.size() == 0 || rows.at(0).is_object();
  const Heard heard = read(delimited::descriptor(), {bytes}, {{"header", by_name ? "yes" : "no"}});
  EXPECT_THAT(heard.asides, testing::IsEmpty()) << name << heard.text();
  std::string got;
  for (const Record& record : heard.records) {
    for (const auto& [field, value] : record.fields)
      got += "[" + (by_name ? field + "=" : "") + value + "]";
    got += "\n";
  }
  std::string want;
  for (const simdjson::dom::element row : rows) {
    if (by_name) {
      for (const auto& [field, value] : row.get_object())
        want += "[" + std::string(field) + "=" + std::string(std::string_view(value)) + "]";
    } else {
      for (const std::string_view value : row.get_array()) want += "[" + std::string(value) + "]";
    }
    want += "\n";
  }
  EXPECT_EQ(got, want) << name;
}

TEST(CsvSuite, AgreesWithThePublishedCasesWhereTheyAreThere) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr)
    GTEST_SKIP() << "GIRDLE_SHARED is not set; the corpus holds those that may be copied";
  // A blank line is a row of one empty field there, and no row here; one case wants another header
  // than the document's.
  const std::set<std::string> other = {"csv.td.all-empty", "csv.td.empty-one-column",
                                       "csv.td.bad-header-wrong-header",
                                       "csv.spectrum.location_coordinates"};
  simdjson::dom::parser parser;
  size_t cases = 0;
  for (const simdjson::dom::element check : parser.load(shared + "/checks/wire.json"s)) {
    const std::string_view published = check["id"];
    const std::string id(published);
    const bool ours = id.starts_with("csv.td.") || id.starts_with("csv.spectrum.") ||
                      id.starts_with("csv.rfc4180.");
    if (!ours || other.contains(id)) continue;
    ++cases;
    expect_published(id, from_hex(check["input"]),
                     std::string(std::string_view(check["expected"])));
  }
  EXPECT_GE(cases, 24u);
}

}  // namespace
}  // namespace girdle::plugins_test
