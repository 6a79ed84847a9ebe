// All values of checks/wire.json that concern this folder, where GIRDLE_SHARED names a folder that
// has it: each entry is looked at, and one of a new kind fails. Those that must hold everywhere are
// typed into the tests of their units.
#include <gmock/gmock.h>

#include <map>

#include "base/gs1_check.h"
#include "base/gs1_code.h"
#include "base/gs1_identifier.h"
#include "base/published_checks.h"
#include "base/time.h"

namespace girdle::base {
namespace {

using testing::HasSubstr;

const char* const kStandFor =
    "GIRDLE_SHARED is not set; values typed into other tests stand for it";

bool has_right_check_digit(std::string_view number) {
  return gs1_check_digit(number.substr(0, number.size() - 1)) == number.back();
}

// "(01)…(21)…", or why not.
std::string elements_of(std::string_view text, std::string_view between = "") {
  const auto elements = read_gs1(text);
  if (!elements) return elements.error().text;
  std::string out;
  for (const Gs1Element& element : *elements) {
    if (!out.empty()) out += between;
    out += '(' + element.code + ')' + element.data;
  }
  return out;
}

void expect_check_digit(const PublishedCheck& check) {
  const size_t slash = check.input.find(" / ");
  if (slash != check.input.npos) {
    ASSERT_EQ(check.expected, "valid / invalid");
    EXPECT_TRUE(has_right_check_digit(check.input.substr(0, slash))) << check.id;
    EXPECT_FALSE(has_right_check_digit(check.input.substr(slash + 3))) << check.id;
    return;
  }
  const bool valid = check.expected == "valid";
  ASSERT_TRUE(valid || check.expected.starts_with("invalid")) << check.id;
  EXPECT_EQ(has_right_check_digit(check.input), valid) << check.id;
  const std::string should_be = "check digit should be ";
  const size_t said = check.expected.find(should_be);
  if (said == check.expected.npos) return;
  const std::string_view number = check.input;
  EXPECT_EQ(gs1_check_digit(number.substr(0, number.size() - 1)),
            check.expected[said + should_be.size()])
      << check.id;
}

// "N13,csum,gcppos1 [X..17]": its least and most characters, and whether it ends itself.
void expect_identifier(const PublishedCheck& check) {
  simdjson::dom::parser parser;
  const simdjson::padded_string json(check.expected);
  const simdjson::dom::element expected = parser.parse(json);
  const auto identifier = Gs1Identifier::named(check.input.substr(1, check.input.size() - 2));
  ASSERT_TRUE(identifier) << check.id;
  size_t least = 0, most = 0;
  const std::string spec = text_of(expected["spec"]);
  for (size_t at = 0; at < spec.size(); at = std::min(spec.find(' ', at), spec.size() - 1) + 1) {
    const bool is_optional = spec[at] == '[';
    const size_t digits = spec.find_first_of("0123456789", at);
    const auto size = static_cast<size_t>(std::stoi(spec.substr(digits)));
    const bool up_to = spec[digits - 1] == '.';
    most += size;
    if (!is_optional) least += up_to ? 1 : size;
  }
  EXPECT_EQ(identifier->least(), least) << check.id;
  EXPECT_EQ(identifier->most(), most) << check.id;
  EXPECT_EQ(identifier->has_predefined_length(), bool(expected["predefined_length_no_fnc1"]))
      << check.id;
  EXPECT_EQ(identifier->may_be_link_attribute(), bool(expected["digital_link_attribute"]))
      << check.id;
  std::string key;
  if (identifier->is_link_key()) {
    key = "dlpkey";
    for (const auto sequence : identifier->link_qualifiers()) {
      for (const std::string_view qualifier : sequence) {
        const char mark = key == "dlpkey" ? '=' : qualifier == sequence[0] ? '|' : ',';
        key += mark + std::string(qualifier);
      }
    }
  }
  std::string published;
  for (const simdjson::dom::element attribute : expected["attributes"].get_array()) {
    if (text_of(attribute).starts_with("dlpkey")) published = text_of(attribute);
  }
  EXPECT_EQ(key, published) << check.id;
}

void expect_link(const PublishedCheck& check) {
  const auto elements = read_gs1(check.input);
  const std::string accept = "accept -> ";
  ASSERT_TRUE(check.expected == "reject" || check.expected.starts_with(accept)) << check.id;
  EXPECT_EQ(elements.ok(), check.expected != "reject") << check.id;
  if (!elements) return;
  std::string got;
  bool ends_by_itself = false;
  for (const Gs1Element& element : *elements) {
    got += (ends_by_itself ? "" : "^") + element.code + element.data;
    ends_by_itself = Gs1Identifier::named(element.code)->has_predefined_length();
  }
  EXPECT_EQ(got, check.expected.substr(accept.size())) << check.id;
}

void expect_one_of_its_own(const PublishedCheck& check) {
  if (check.id == "gs1.upce") {
    EXPECT_EQ(elements_of(check.input), "(01)02112345678900");
    EXPECT_THAT(check.expected, HasSubstr("normalise to 14 digits 02112345678900"));
  } else if (check.id == "gs1.sgtin") {  // of the URI only the element string is ours to read
    EXPECT_EQ(elements_of(check.expected), check.expected);
  } else if (check.id == "gs1.giai") {
    const size_t mark = check.expected.find(" ; ");
    const std::string element_string = check.expected.substr(0, mark);
    EXPECT_EQ(elements_of(element_string), element_string);
    EXPECT_EQ(elements_of(check.expected.substr(mark + 3)), element_string);
  } else {
    ADD_FAILURE() << "nothing looks at " << check.id;
  }
}

TEST(PublishedValues, OfGs1AllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const auto checks = published_checks("gs1.");
  for (const PublishedCheck& check : checks) {
    const std::string_view kind = std::string_view(check.id).substr(4);
    if (kind.starts_with("csum.") || kind.starts_with("parity.") || kind.starts_with("stdnum.") ||
        kind.starts_with("key.") || kind.starts_with("epcis.")) {
      expect_check_digit(check);
    } else if (kind.starts_with("ai.")) {
      expect_identifier(check);
    } else if (kind.starts_with("scan.")) {
      EXPECT_EQ(elements_of(check.input, "; "), check.expected) << check.id;
    } else if (kind.starts_with("dl.")) {
      expect_link(check);
    } else if (kind.starts_with("gmn.")) {
      const std::string_view number = check.input;
      EXPECT_EQ(gs1_check_pair(number.substr(0, number.size() - 2)),
                number.substr(number.size() - 2))
          << check.id;
    } else {
      expect_one_of_its_own(check);
    }
  }
  EXPECT_EQ(checks.size(), 57u);
}

// A leap second is the second that follows, which is the first of the two readings that the entry
// gives.
TEST(PublishedValues, OfRfc3339AllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  const std::map<std::string, int64_t> millis = {
      {"Unix 482196050.52", 482'196'050'520},
      {"valid leap second; POSIX has no own value, maps to 662688000 (or clamp to 662687999): rule "
       "must be written down",
       662'688'000'000},
      {"same instant as the previous one", 662'688'000'000}};
  const auto checks = published_checks("time.");
  for (const PublishedCheck& check : checks) {
    const auto instant = parse_rfc3339(check.input);
    if (check.expected == "valid" || check.expected == "invalid") {
      EXPECT_EQ(instant.has_value(), check.expected == "valid") << check.id;
      continue;
    }
    ASSERT_TRUE(millis.contains(check.expected)) << check.id << check.expected;
    ASSERT_TRUE(instant) << check.id;
    EXPECT_EQ(instant->time_since_epoch().count(), millis.at(check.expected)) << check.id;
  }
  EXPECT_EQ(checks.size(), 16u);
}

// "Europe/Brussels 2024-03-31T02:30:00", and "gap: …", "overlap: earlier N, later N" or "unique:
// N".
void expect_wall_time(const PublishedCheck& check) {
  const size_t space = check.input.find(' ');
  const auto zone = Zone::find(check.input.substr(0, space));
  const auto form = TimeForm::compile("%Y-%m-%dT%H:%M:%S");
  ASSERT_TRUE(zone && form) << check.id;
  const auto seconds = [&](TwiceRule twice) -> std::string {
    const auto instant = form->parse(check.input.substr(space + 1), *zone, twice);
    if (!instant) return "none";
    return std::to_string(instant->time_since_epoch().count() / 1000);
  };
  const std::string plain = seconds(TwiceRule::kRefuse);
  const std::string earlier = seconds(TwiceRule::kEarlier);
  const std::string later = seconds(TwiceRule::kLater);
  const std::string got = plain != "none"     ? "unique: " + plain
                          : earlier == "none" ? "gap: does not exist"
                                              : "overlap: earlier " + earlier + ", later " + later;
  EXPECT_EQ(got, check.expected) << check.id;
}

// "Europe/Brussels 2024", and the changes of that year, or "none".
void expect_changes(const PublishedCheck& check) {
  const size_t space = check.input.find(' ');
  const auto zone = Zone::find(check.input.substr(0, space));
  ASSERT_TRUE(zone) << check.id;
  const std::string year = check.input.substr(space + 1);
  const Instant first = *parse_rfc3339(year + "-01-01T00:00:00Z");
  const Instant last = *parse_rfc3339(year + "-12-31T23:59:59Z");
  std::string got;
  for (Instant at = first; at < last; at += std::chrono::minutes(15)) {
    const int64_t from = zone->offset_seconds(at - Millis(1)), to = zone->offset_seconds(at);
    if (from == to || at == first) continue;
    got += (got.empty() ? "[{\"unix\":" : ",{\"unix\":") +
           std::to_string(at.time_since_epoch().count() / 1000) + ",\"utc\":\"" +
           format_rfc3339(at).substr(0, 19) + "Z\",\"from_s\":" + std::to_string(from) +
           ",\"to_s\":" + std::to_string(to) + '}';
  }
  EXPECT_EQ(got.empty() ? "none" : got + ']', check.expected) << check.id;
}

TEST(PublishedValues, OfTimeZonesAllHold) {
  if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  size_t not_ours = 0;
  const auto checks = published_checks("tz.");
  for (const PublishedCheck& check : checks) {
    if (check.id.starts_with("tz.wall.")) {
      expect_wall_time(check);
    } else if (check.id == "tz.antwerp") {
      const auto zone = Zone::find(check.input);
      EXPECT_FALSE(zone);
    } else if (check.id == "tz.alias") {
      const auto alias = Zone::find(check.input), name = Zone::find("Asia/Kolkata");
      ASSERT_TRUE(alias && name);
      EXPECT_EQ(alias->offset_seconds(Instant()), name->offset_seconds(Instant()));
    } else if (check.id == "tz.gcc12") {
      ++not_ours;  // what a compiler lacks
    } else {
      expect_changes(check);
    }
  }
  EXPECT_EQ(checks.size(), 16u);
  EXPECT_EQ(not_ours, 1u);
}

// JSON-Schema-Test-Suite (MIT), draft2020-12, optional/format; a core of date-time.json is typed
// into time_test.cc.
class JsonSchemaTimes : public testing::Test {
 protected:
  void SetUp() override {
    if (shared_folder() == nullptr) GTEST_SKIP() << kStandFor;
  }
  // Calls `see(text, valid)` with each of its texts, and gives their number.
  template <class See>
  static size_t each(const std::string& name, See see) {
    simdjson::dom::parser parser;
    size_t texts = 0;
    for (const simdjson::dom::element group :
         parser
             .load(shared_folder() +
                   ("/suites/json-schema-datetime/tests/draft2020-12/optional/format/" + name))
             .get_array()) {
      for (const simdjson::dom::element test : group["tests"].get_array()) {
        std::string_view text;
        if (test["data"].get(text) != simdjson::SUCCESS) continue;  // not of a text: always valid
        ++texts;
        see(std::string(text), bool(test["valid"]));
      }
    }
    return texts;
  }
};

TEST_F(JsonSchemaTimes, AgreeOnDateTimes) {
  EXPECT_EQ(each("date-time.json",
                 [](const std::string& text, bool valid) {
                   EXPECT_EQ(parse_rfc3339(text).has_value(), valid) << text;
                 }),
            27u);
}

TEST_F(JsonSchemaTimes, AgreeOnDates) {
  EXPECT_EQ(each("date.json",
                 [](const std::string& text, bool valid) {
                   EXPECT_EQ(parse_rfc3339(text + "T00:00:00Z").has_value(), valid) << text;
                 }),
            75u);
}

// A leap second ends a month of UTC: on one of two days, by its offset.
TEST_F(JsonSchemaTimes, AgreeOnTimesOfDay) {
  EXPECT_EQ(each("time.json",
                 [](const std::string& text, bool valid) {
                   const bool taken = parse_rfc3339("2016-12-31T" + text).has_value() ||
                                      parse_rfc3339("2017-01-01T" + text).has_value();
                   EXPECT_EQ(taken, valid) << text;
                 }),
            41u);
}

}  // namespace
}  // namespace girdle::base
