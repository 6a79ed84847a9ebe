// JSON Parsing Test Suite (github.com/nst/JSONTestSuite, MIT): what must be JSON, and what must not
// be. The whole suite where GIRDLE_SHARED names a folder that has it; a core that was typed in,
// always.
#include <gmock/gmock.h>

#include <cstdlib>
#include <filesystem>

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

// A value that must be taken makes a record where it is the member of an object. Names that come
// twice are JSON and no record (RFC 8259, section 4: what they mean is not predictable).
void expect_record(const std::string& name, const std::string& text) {
  expect_json(name, text);
  const Heard heard = read(json::descriptor(), {"{\"v\":\n" + text + "}"});
  const bool twice = name.starts_with("y_object_duplicated_key");
  EXPECT_EQ(heard.records.size(), twice ? 0u : 1u) << name << "\n" << heard.text();
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
  for (const auto& [name, text] : core) expect_record(name, text);
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

// RFC 8259 leaves these to us: numbers of any size are kept as they are written (section 6), a byte
// order mark is passed over (section 8.1), depth is limited for records only (section 9). Half a
// surrogate pair stands for no text (section 8.2), and JSON is UTF-8 (section 8.1).
bool is_taken_here(const std::string& name) {
  return name.starts_with("i_number_") || name.starts_with("i_structure_");
}

void expect_free(const std::string& name, const std::string& text) {
  if (is_taken_here(name)) {
    expect_json(name, text);
  } else {
    expect_no_json(name, text);
  }
}

TEST(JsonSuite, DecidesTheCoreThatIsLeftToUs) {
  const std::pair<const char*, std::string> core[] = {
      {"i_number_double_huge_neg_exp", "[123.456e-789]"},
      {"i_number_too_big_pos_int", "[100000000000000000000]"},
      {"i_number_real_pos_overflow", "[123123e100000]"},
      {"i_object_key_lone_2nd_surrogate", "{\"\\uDFAA\":0}"},
      {"i_string_1st_valid_surrogate_2nd_invalid", "[\"\\uD888\\u1234\"]"},
      {"i_string_incomplete_surrogate_pair", "[\"\\uD800\"]"},
      {"i_string_invalid_utf-8", "[\"\xFF\"]"},
      {"i_string_overlong_sequence_2_bytes", "[\"\xC0\xAF\"]"},
      {"i_string_utf16LE_no_BOM", "[\0\"\0\xE9\0\"\0]\0"s},
      {"i_structure_500_nested_arrays", std::string(500, '[') + std::string(500, ']')},
      {"i_structure_UTF-8_BOM_empty_object", "\xEF\xBB\xBF{}"},
  };
  for (const auto& [name, text] : core) expect_free(name, text);
}

TEST(JsonSuite, AgreesWithTheWholeSuiteWhereItIsThere) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr) GTEST_SKIP() << "GIRDLE_SHARED is not set; the cores above stand for it";
  size_t must = 0;
  size_t must_not = 0;
  size_t is_free = 0;
  for (const auto& entry : fs::directory_iterator(shared + "/suites/JSONTestSuite/test_parsing"s)) {
    const std::string name = entry.path().filename();
    const std::string text = file_bytes(entry.path());
    if (name.starts_with("y_")) {
      ++must;
      expect_record(name, text);
    } else if (name.starts_with("n_")) {
      ++must_not;
      expect_no_json(name, text);
    } else {
      ++is_free;
      expect_free(name, text);
    }
  }
  EXPECT_EQ(must, 95u);
  EXPECT_EQ(must_not, 188u);
  EXPECT_EQ(is_free, 35u);
}

TEST(JsonSuite, KeepsTheTextOfNumbersWhereTheSuiteIsThere) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr) GTEST_SKIP() << "GIRDLE_SHARED is not set; the corpus has such numbers";
  size_t numbers = 0;
  for (const auto& entry :
       fs::directory_iterator(shared + "/suites/JSONTestSuite/test_transform"s)) {
    const std::string name = entry.path().filename();
    if (!name.starts_with("number_")) continue;
    const std::string text = file_bytes(entry.path());
    const size_t begin = text.find('[') + 1;
    const std::string number = text.substr(begin, text.find(']') - begin);
    const Heard heard = read(json::descriptor(), {"{\"n\":" + number + "}"});
    ASSERT_EQ(heard.records.size(), 1u) << name;
    EXPECT_EQ(heard.records[0].fields[0].second, number) << name;
    ++numbers;
  }
  EXPECT_EQ(numbers, 10u);
}

}  // namespace
}  // namespace girdle::plugins_test
