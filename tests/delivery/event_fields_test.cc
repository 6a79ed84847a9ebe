#include "delivery/event_fields.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <simdjson.h>

#include <algorithm>
#include <map>
#include <string>

#include "delivery/parsed_event.h"
#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

using simdjson::dom::element;
using testing::HasSubstr;

std::string line(std::string_view pointer, FieldKind kind, Presence presence,
                 std::vector<std::string> words) {
  static constexpr const char* kKinds[] = {"text", "number", "flag",   "decimal",
                                           "time", "word",   "object", "list"};
  static constexpr const char* kPresences[] = {"always", "nullable", "optional"};
  std::sort(words.begin(), words.end());
  std::string out = std::string(pointer) + " " + kKinds[static_cast<int>(kind)] + " " +
                    kPresences[static_cast<int>(presence)];
  for (const std::string& word : words) out += " " + word;
  return out;
}

// Walks over the documents in schemas/, which are the promise to receivers.
class SchemaWalk {
 public:
  SchemaWalk() {
    const std::string folder = GIRDLE_SOURCE_DIR "/schemas/";
    event_ = event_parser_.load(folder + "event.schema.json");
    outcome_ = outcome_parser_.load(folder + "outcome.schema.json");
  }

  std::vector<std::string> lines() {
    walk("", event_, Presence::kAlways);
    return lines_;
  }

 private:
  struct Resolved {
    element schema;
    std::string definition;  // "count", "decimal", …; empty where the place says all itself
  };

  Resolved resolve(element schema) {
    std::string_view reference;
    if (schema["$ref"].get(reference) != simdjson::SUCCESS) return {schema, ""};
    if (reference == "outcome.schema.json") return {outcome_, ""};
    const size_t slash = reference.rfind('/');
    const std::string name(reference.substr(slash + 1));
    element found;
    EXPECT_EQ(outcome_["$defs"][name].get(found), simdjson::SUCCESS) << reference;
    return {found, name};
  }

  void walk(const std::string& pointer, element at, Presence presence) {
    auto [schema, definition] = resolve(at);
    simdjson::dom::array choices;
    if (schema["oneOf"].get(choices) == simdjson::SUCCESS) {  // of a thing and null
      ASSERT_EQ(choices.size(), 2u) << pointer;
      ASSERT_EQ(std::string_view(choices.at(1)["type"]), "null") << pointer;
      presence = Presence::kNullable;
      std::tie(schema, definition) =
          std::pair(resolve(choices.at(0)).schema, resolve(choices.at(0)).definition);
    }
    simdjson::dom::array types;
    if (schema["type"].get(types) == simdjson::SUCCESS) presence = Presence::kNullable;
    const FieldKind kind = kind_of(pointer, schema, definition);
    lines_.push_back(line(pointer, kind, presence, words_of(schema)));
    if (kind == FieldKind::kObject) walk_members(pointer, schema);
    if (kind == FieldKind::kList) {
      uint64_t least = 0;
      const bool has_one = schema["minItems"].get(least) == simdjson::SUCCESS && least > 0;
      walk(pointer + "/*", schema["items"], has_one ? Presence::kAlways : Presence::kOptional);
    }
  }

  void walk_members(const std::string& pointer, element schema) {
    std::vector<std::string> required;
    simdjson::dom::array list;
    if (schema["required"].get(list) == simdjson::SUCCESS) {
      for (const std::string_view name : list) required.emplace_back(name);
    }
    const simdjson::dom::object members = schema["properties"];
    for (const auto [name, member] : members) {
      const bool always = std::find(required.begin(), required.end(), name) != required.end();
      walk(pointer + "/" + std::string(name), member,
           always ? Presence::kAlways : Presence::kOptional);
    }
  }

  static std::vector<std::string> words_of(element schema) {
    std::vector<std::string> words;
    simdjson::dom::array list;
    if (schema["enum"].get(list) != simdjson::SUCCESS) return words;
    for (const std::string_view word : list) words.emplace_back(word);
    return words;
  }

  static FieldKind kind_of(const std::string& pointer, element schema,
                           const std::string& definition) {
    if (definition == "decimal" || definition == "share") return FieldKind::kDecimal;
    if (definition == "instant") return FieldKind::kTime;
    if (schema["enum"].error() == simdjson::SUCCESS) return FieldKind::kWord;
    if (schema["const"].error() == simdjson::SUCCESS) return FieldKind::kText;
    std::string_view type;
    simdjson::dom::array types;
    if (schema["type"].get(types) == simdjson::SUCCESS) {
      EXPECT_EQ(std::string_view(types.at(1)), "null") << pointer;
      type = types.at(0);
    } else {
      EXPECT_EQ(schema["type"].get(type), simdjson::SUCCESS) << pointer;
    }
    static const std::map<std::string_view, FieldKind> kTypes = {{"string", FieldKind::kText},
                                                                 {"integer", FieldKind::kNumber},
                                                                 {"boolean", FieldKind::kFlag},
                                                                 {"object", FieldKind::kObject},
                                                                 {"array", FieldKind::kList}};
    EXPECT_TRUE(kTypes.contains(type)) << pointer << ": " << type;
    return kTypes.contains(type) ? kTypes.at(type) : FieldKind::kText;
  }

  simdjson::dom::parser event_parser_, outcome_parser_;
  element event_, outcome_;
  std::vector<std::string> lines_;
};

TEST(EventFields, AreWhatTheSchemasSay) {
  std::vector<std::string> ours;
  for (const EventField& field : event_fields()) {
    ours.push_back(
        line(field.pointer, field.kind, field.presence, {field.words.begin(), field.words.end()}));
  }
  EXPECT_THAT(ours, testing::UnorderedElementsAreArray(SchemaWalk().lines()));
  EXPECT_GT(ours.size(), 80u);
}

EventPath path(std::string_view pointer) {
  EventPath compiled;
  std::string why;
  EXPECT_TRUE(compile_path(pointer, compiled, why)) << why;
  return compiled;
}

std::string why_not(std::string_view pointer) {
  EventPath compiled;
  std::string why;
  EXPECT_FALSE(compile_path(pointer, compiled, why)) << pointer;
  return why;
}

TEST(EventFields, AreFoundByTheirPointers) {
  for (const EventField& field : event_fields()) {
    std::string pointer(field.pointer);
    std::replace(pointer.begin(), pointer.end(), '*', '0');
    EXPECT_EQ(path(pointer).field, &field) << pointer;
  }
  EXPECT_EQ(path("/data/reasons/12/code").field->kind, FieldKind::kText);
}

TEST(EventFields, TellWhatIsThereInEveryEvent) {
  EXPECT_TRUE(path("").always);
  EXPECT_TRUE(path("/data/subject/stock_number").always);
  EXPECT_TRUE(path("/data/reasons/0/text").always);
  EXPECT_FALSE(path("/data/reasons/1/text").always);
  EXPECT_FALSE(path("/data/subject/position").always);
  EXPECT_FALSE(path("/data/evidence/probability/of").always);  // with the object around it
}

TEST(EventFields, AnUnknownPointerNamesTheNearestKnown) {
  EXPECT_EQ(why_not("/data/disposision"),
            "\"/data/disposision\" is nothing in the event; did you mean /data/disposition?");
  EXPECT_THAT(why_not("/disposition"), HasSubstr("did you mean /data/disposition?"));
  EXPECT_THAT(why_not("finding"), HasSubstr("did you mean /data/finding?"));
  EXPECT_THAT(why_not("/data/subject/weight_in_grams"),
              HasSubstr("/data/subject has kind, stock_number and position"));
  EXPECT_THAT(
      why_not("/data/reasons/the_last_one_of_all"),
      HasSubstr("nothing in the event; /data/reasons is a list: its first is /data/reasons/0"));
  EXPECT_THAT(why_not("/data/site/x/y/z/longer"), HasSubstr("/data/site holds nothing else"));
}

// RFC 6901 section 4: places are digits without a leading zero; "-" is behind the last; "~" escapes
// 0 and 1 alone.
TEST(EventFields, TakesPointersAsTheStandardWritesThem) {
  for (const char* pointer :
       {"/data/reasons/00", "/data/reasons/-", "/data/reasons/+1", "/data/reasons/*", "/data/",
        "/data/si~te", "/data~1site", "/data/reasons/99999999999999999999", "/", "data/site"}) {
    EXPECT_THAT(why_not(pointer), HasSubstr("is nothing in the event")) << pointer;
  }
}

TEST(ParsedEvent, FindsWhatTheEventHas) {
  ParsedEvent event;
  event.read(sample_outcome(17, 2));
  const auto text = [&](std::string_view pointer) {
    const auto found = event.find(path(pointer));
    return found ? simdjson::to_string(*found) : "(nothing)";
  };
  EXPECT_EQ(text("/id"), "\"q1-17-2\"");
  EXPECT_EQ(text("/data/subject/position"), "null");
  EXPECT_EQ(text("/data/reasons/0/code"), "\"findings_differ\"");
  EXPECT_EQ(text("/data/reasons/1/code"), "(nothing)");
  EXPECT_EQ(text("/data/evidence/stone/carat"), "(nothing)");
  EXPECT_EQ(text("/data/readings/valid"), "2");
  event.read(sample_outcome(18, 1));
  EXPECT_EQ(text("/id"), "\"q1-18-1\"");
}

// What the table says is always there is there, in the barest event.
TEST(ParsedEvent, HasEverythingThatIsAlwaysThere) {
  ParsedEvent event;
  event.read(sample_outcome(1, 1));
  for (const EventField& field : event_fields()) {
    std::string pointer(field.pointer);
    std::replace(pointer.begin(), pointer.end(), '*', '0');
    const EventPath compiled = path(pointer);
    const auto found = event.find(compiled);
    EXPECT_TRUE(!compiled.always || (found && !found->is_null())) << pointer;
  }
}

}  // namespace
}  // namespace girdle::delivery
