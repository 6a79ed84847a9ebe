// The schemas and the reference say what the parser does.
#include "config/pages.h"

#include <gmock/gmock.h>
#include <simdjson.h>

#include <fstream>
#include <iterator>
#include <set>

#include "config/keys.h"
#include "framing/crc.h"
#include "small_house.h"

namespace girdle::config {
namespace {

std::string file_text(const std::string& name) {
  std::ifstream file(std::string(GIRDLE_SOURCE_DIR) + "/" + name, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

// Every name under "properties" of a schema, by the map's own text of names.
void collect(simdjson::dom::element element, std::set<std::set<std::string>>& maps) {
  if (element.is_object()) {
    simdjson::dom::object properties;
    // A schema with additionalProperties is one of a map; the others only narrow one.
    if (element["properties"].get(properties) == simdjson::SUCCESS &&
        element["additionalProperties"].error() == simdjson::SUCCESS) {
      std::set<std::string> names;
      for (const auto& property : properties) names.emplace(property.key);
      maps.insert(std::move(names));
    }
    for (const auto& member : element.get_object()) collect(member.value, maps);
  } else if (element.is_array()) {
    for (const auto& item : element.get_array()) collect(item, maps);
  }
}

void collect(const KeySet& keys, std::set<std::set<std::string>>& maps) {
  std::set<std::string> names;
  for (const Key& key : keys.keys) {
    names.emplace(key.name);
    if (key.map != nullptr) collect(*key.map, maps);
    for (const KeySet& kind : key.kinds) collect(kind, maps);
  }
  maps.insert(std::move(names));
  if (keys.open_map != nullptr) collect(*keys.open_map, maps);
}

TEST(Schemas, AreThoseOfTheKeys) {
  const char* const hint = "a key was changed: run girdle_config_pages on the sources";
  EXPECT_EQ(file_text("schemas/config.schema.json"), settings_schema()) << hint;
  EXPECT_EQ(file_text("schemas/mapping.schema.json"), mapping_schema()) << hint;
  EXPECT_EQ(file_text("schemas/policy.schema.json"), policy_schema()) << hint;
}

TEST(Schemas, NameExactlyTheKeysThatTheParserTakes) {
  const auto names_of = [](const char* name) {
    simdjson::dom::parser parser;
    const simdjson::padded_string text(file_text(name));
    std::set<std::set<std::string>> maps;
    collect(parser.parse(text), maps);
    return maps;
  };
  std::set<std::set<std::string>> settings, mapping, policy;
  collect(kSettingsKeys, settings);
  for (const KeySet& keys : kMappingKeys) collect(keys, mapping);
  collect(kPolicyKeys, policy);
  EXPECT_EQ(names_of("schemas/config.schema.json"), settings);
  EXPECT_EQ(names_of("schemas/mapping.schema.json"), mapping);
  EXPECT_EQ(names_of("schemas/policy.schema.json"), policy);
}

TEST(Reference, HasEveryKey) {
  const std::string page = file_text("daemon/config/README.md");
  EXPECT_NE(page.find(reference()), page.npos)
      << "a key was changed: run girdle_config_pages on the sources";
  const std::string tables = reference();
  for (const auto& keysets : {kSettingsPage, kMappingPage, kPolicyPage}) {
    for (const KeySet* keys : keysets) {
      const size_t at = tables.find("#### " + std::string(keys->title) + "\n");
      ASSERT_NE(at, tables.npos) << keys->title;
      const std::string table = tables.substr(at, tables.find("####", at + 4) - at);
      for (const Key& key : keys->keys) {
        if (keys->like != nullptr && keys->like->find(key.name) != nullptr) continue;
        EXPECT_NE(table.find("\n| `" + std::string(key.name) + "` | "), table.npos)
            << keys->title << " " << key.name;
      }
    }
  }
}

TEST(Reference, HasEveryMapThatTheParserTakes) {
  std::set<const KeySet*> on_a_page;
  for (const auto& page : {kSettingsPage, kMappingPage, kPolicyPage}) {
    on_a_page.insert(page.begin(), page.end());
  }
  // Three kinds of mapping files, and of sections, have the same keys, and one table.
  for (const KeySet& keys : kMappingKeys) on_a_page.insert(&keys);
  for (const KeySet& keys : kSectionKeys) on_a_page.insert(&keys);
  std::vector<const KeySet*> open = {&kSettingsKeys, &kPolicyKeys};
  for (const KeySet& keys : kMappingKeys) open.push_back(&keys);
  while (!open.empty()) {
    const KeySet* keys = open.back();
    open.pop_back();
    EXPECT_TRUE(on_a_page.contains(keys)) << keys->title;
    for (const Key& key : keys->keys) {
      if (key.map != nullptr) open.push_back(key.map);
      for (const KeySet& kind : key.kinds) open.push_back(&kind);
    }
  }
}

// The example under a heading of the page; empty where there is none.
std::string example_under(const std::string& heading) {
  const std::string page = file_text("daemon/config/README.md");
  const std::string begin = "## " + heading + "\n\n```yaml\n";
  const size_t at = page.find(begin);
  if (at == page.npos) return {};
  const size_t from = at + begin.size();
  return page.substr(from, page.find("```\n", from) - from);
}

TEST(Reference, ShowsAConfigurationThatIsRight) {
  MemoryFiles files;
  files.folder("/house/inbox/counter-1");
  files.file("/house/girdled.yaml", example_under("A configuration"));
  files.file("/house/policy.yaml", example_under("A policy"));
  files.file("/house/counter-1.mapping.yaml", kSmallMapping);
  files.file("/house/counter-2.mapping.yaml", kSmallMapping);
  EXPECT_THAT(problems_in(files), testing::IsEmpty());
}

TEST(Reference, ShowsOutletsThatAreRight) {
  const std::string page = file_text("daemon/config/README.md");
  const size_t from = page.find("\n## Outlets\n");
  ASSERT_NE(from, page.npos);
  const std::string section = page.substr(from, page.find("\n## ", from + 1) - from);
  std::string settings = "site: quay-street\nledger: { path: l.db }\noutlets:\n";
  constexpr std::string_view kBegin = "```yaml\n";
  for (size_t at = 0; (at = section.find(kBegin, at)) != section.npos;) {
    at += kBegin.size();
    settings += section.substr(at, section.find("```\n", at) - at);
    at = section.find("```\n", at) + 4;
  }
  MemoryFiles files;
  files.folder("/house/outbox/erp").file("/house/girdled.yaml", settings);
  const Loaded loaded = load("/house/girdled.yaml", files);
  EXPECT_THAT(formatted(loaded.problems), testing::IsEmpty());
  std::vector<Body::Kind> kinds;
  for (const Outlet& outlet : loaded.settings.outlets) kinds.push_back(outlet.body.kind);
  EXPECT_THAT(kinds, testing::ElementsAre(Body::Kind::kJson, Body::Kind::kXml, Body::Kind::kCsv,
                                          Body::Kind::kEpcis));
}

TEST(Keys, NameEveryCheckThatFramingKnows) {
  const Key* check = nullptr;
  for (const KeySet* keys : kSettingsPage) {
    if (keys->name == "frame") check = keys->find("check");
  }
  ASSERT_NE(check, nullptr);
  std::set<std::string> ours(check->choices.begin(), check->choices.end());
  std::set<std::string> theirs = {"xor8", "neg-sum8", "sum8-hex"};
  for (const auto& crc : framing::crc_catalogue()) {
    std::string name(crc.name);
    for (char& c : name) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    theirs.insert(name);
  }
  EXPECT_EQ(ours, theirs);
}

}  // namespace
}  // namespace girdle::config
