// The JSON Schemas of pages.h.
#include <algorithm>
#include <vector>

#include "base/json.h"
#include "base/text.h"
#include "config/keys.h"
#include "config/pages.h"
#include "config/values.h"

namespace girdle::config {
namespace {

using base::JsonWriter;

// Compact JSON with line feeds and two blanks a level.
std::string laid_out(std::string_view json) {
  std::string out;
  size_t level = 0;
  bool in_text = false;
  const auto feed = [&] { (out += '\n').append(level * 2, ' '); };
  for (size_t at = 0; at < json.size(); ++at) {
    const char c = json[at];
    if (c == '"' && (at == 0 || json[at - 1] != '\\')) in_text = !in_text;
    if (in_text || (c != '{' && c != '[' && c != '}' && c != ']' && c != ',' && c != ':')) {
      out += c;
      continue;
    }
    if (c == '}' || c == ']') {
      --level;
      if (out.back() != '{' && out.back() != '[') feed();
    }
    out += c;
    if (c == '{' || c == '[') {
      ++level;
      if (json[at + 1] != '}' && json[at + 1] != ']') feed();
    }
    if (c == ',') feed();
    if (c == ':') out += ' ';
  }
  return out + '\n';
}

// "intakes[].folder" as a name in $defs.
std::string def_name(const KeySet& keys) {
  std::string name;
  for (const char c : keys.title) {
    const bool word = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
    if (word) {
      name += c;
    } else if (!name.empty() && name.back() != '_') {
      name += '_';
    }
  }
  while (name.ends_with('_')) name.pop_back();
  return name;
}

class SchemaWriter {
 public:
  explicit SchemaWriter(std::string& out) : json_(out) {}

  void head(std::string_view title) {
    json_.begin_object();
    json_.member("$schema", "https://json-schema.org/draft/2020-12/schema");
    json_.member("title", title);
  }
  void defs(std::span<const KeySet* const> page, std::span<const KeySet* const> roots) {
    json_.key("$defs").begin_object();
    for (const KeySet* keys : page) {
      if (std::find(roots.begin(), roots.end(), keys) != roots.end()) continue;
      json_.key(def_name(*keys)).begin_object();
      members(*keys);
      json_.end_object();
    }
    tree_def(page);
    json_.end_object().end_object();
  }
  JsonWriter& json() { return json_; }

  // The members of the schema of one map.
  void members(const KeySet& keys) {
    json_.member("type", "object").key("properties").begin_object();
    for (const Key& key : keys.keys) {
      json_.key(key.name);
      property(key);
    }
    json_.end_object();
    if (keys.open_map != nullptr) {
      json_.key("patternProperties").begin_object();
      std::string pattern = "^";
      for (const char c : keys.open_prefix) pattern += c == '.' ? "\\." : std::string(1, c);
      json_.key(pattern + ".").begin_object();
      ref(*keys.open_map);
      json_.end_object().end_object();
    }
    json_.member("additionalProperties", false);
    required(keys);
  }

 private:
  void required(const KeySet& keys) {
    if (std::any_of(keys.keys.begin(), keys.keys.end(), [](const Key& k) { return k.required; })) {
      json_.key("required").begin_array();
      for (const Key& key : keys.keys) {
        if (key.required) json_.text(key.name);
      }
      json_.end_array();
    }
    needed(keys);
    each_has("oneOf", keys.one_of);
    each_has("anyOf", keys.some_of);
  }

  void each_has(std::string_view how_many, std::span<const std::string_view> names) {
    if (names.empty()) return;
    json_.key(how_many).begin_array();
    for (const std::string_view name : names) {
      json_.begin_object();
      has(name);
      json_.end_object();
    }
    json_.end_array();
  }

  void needed(const KeySet& keys) {
    if (std::all_of(keys.keys.begin(), keys.keys.end(),
                    [](const Key& k) { return k.needs.empty(); })) {
      return;
    }
    json_.key("dependentRequired").begin_object();
    for (const Key& key : keys.keys) {
      if (!key.needs.empty()) json_.key(key.name).begin_array().text(key.needs).end_array();
    }
    json_.end_object();
  }

  // Strict validators want what is required to be named beside it.
  void has(std::string_view name) {
    json_.key("required").begin_array().text(name).end_array();
    json_.key("properties").begin_object().key(name).boolean(true).end_object();
  }

  void ref(const KeySet& keys) { json_.member("$ref", "#/$defs/" + def_name(keys)); }

  void property(const Key& key) {
    json_.begin_object();
    if (key.may_be_empty) {
      json_.key("anyOf").begin_array().begin_object();
      type(key);
      json_.end_object().begin_object().member("type", "null").end_object().end_array();
    } else {
      type(key);
    }
    if (!key.fallback.empty()) fallback(key);
    json_.member("description", key.summary).end_object();
  }

  void types(std::initializer_list<std::string_view> names) {
    json_.key("type").begin_array();
    for (const std::string_view name : names) json_.text(name);
    json_.end_array();
  }
  // Unquoted, a text may look like a number or a truth value to whoever reads YAML for an editor.
  void scalar(bool nothing_too = false) {
    if (nothing_too) return types({"string", "number", "boolean", "null"});
    types({"string", "number", "boolean"});
    json_.member("minLength", int64_t{1});
  }
  // The name of a raw field, which may be `null`.
  void column() {
    scalar(true);
    json_.member("minLength", int64_t{1});
  }
  // Of whole numbers, one in quotes too: the parser sees texts. What is out of bounds in quotes
  // only the parser tells.
  void whole_number(const Key& key) {
    types({"integer", "string"});
    json_.member("minimum", key.least).member("maximum", key.most);
  }
  void decimal(const Bounds& bounds) {
    types({"number", "string"});
    json_.key(bounds.with_least ? "minimum" : "exclusiveMinimum").raw(bounds.least);
    json_.key(bounds.with_most ? "maximum" : "exclusiveMaximum").raw(bounds.most);
    json_.member("pattern", "^[+-]?([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][+-]?[0-9]+)?$");
  }
  void texts(int64_t least = 0) {
    json_.member("type", "object");
    if (least > 0) json_.member("minProperties", least);
    json_.key("additionalProperties").begin_object();
    scalar(true);
    json_.end_object();
  }
  void texts_by_language() {
    json_.member("type", "object").key("propertyNames").begin_object();
    json_.member("maxLength", int64_t{35})
        .member("pattern", kLanguage)
        .end_object()
        .key("additionalProperties")
        .begin_object();
    texts();
    json_.end_object();
  }
  void pattern(std::string_view regex) { json_.member("type", "string").member("pattern", regex); }
  template <class Item>
  void list(int64_t least, Item item) {
    json_.member("type", "array");
    if (least > 0) json_.member("minItems", least);
    json_.key("items").begin_object();
    item();
    json_.end_object();
  }

  void type(const Key& key) {
    switch (key.type) {
      case KeyType::kText:
      case KeyType::kUnaryTest:
      case KeyType::kPath:
        return scalar();
      case KeyType::kLabel:  // 200 bytes are at most 200 characters
        scalar();
        json_.member("maxLength", int64_t{200}).member("pattern", kOneLine);
        return;
      case KeyType::kName:
        types({"string", "number", "boolean"});
        json_.member("minimum", int64_t{0});  // a sign does not begin a name
        json_.member("pattern", "^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$");
        return;
      case KeyType::kConstant:
        return scalar(true);
      case KeyType::kPaths:
      case KeyType::kTexts:
        return list(0, [&] { scalar(); });
      case KeyType::kFlag:
        json_.key("enum").begin_array().boolean(true).boolean(false);
        json_.text("true").text("false").end_array();
        return;
      case KeyType::kWhole:
        whole_number(key);
        json_.member("pattern", "^[0-9]+$");
        return;
      case KeyType::kNumber:
        return decimal(key.bounds);
      case KeyType::kDuration:
        return pattern(kDuration);
      case KeyType::kDurations:
        return list(0, [&] { pattern(kDuration); });
      case KeyType::kSize:
        whole_number(key);
        json_.member("pattern", "^[0-9]+(KiB|MiB|GiB)?$");
        return;
      case KeyType::kChoice:
        return choices(key);
      case KeyType::kChoices:
        return one_or_more([&] { choices(key); });
      case KeyType::kTests:
        json_.member("type", "object").member("minProperties", int64_t{1});
        json_.key("additionalProperties").begin_object();
        one_or_more([&] { scalar(true); });
        json_.end_object();
        return;
      case KeyType::kSections:
        return list(1, [&] { one_of(key.kinds); });
      case KeyType::kHostPort:
        return pattern("^(\\[[0-9A-Fa-f:.%]+\\]|[A-Za-z0-9._-]+):[0-9]{1,5}$");
      case KeyType::kLanguage:  // to readers of YAML 1.1 Norwegian is a truth value
        types({"string", "boolean"});
        json_.member("maxLength", int64_t{35}).member("pattern", kLanguage);
        return;
      case KeyType::kMoment:
        return pattern(kMoment);
      case KeyType::kZone:
      case KeyType::kTimeForm:
      case KeyType::kWrittenForm:
        json_.member("type", "string").member("minLength", int64_t{1});
        return;
      case KeyType::kBytes:
        types({"string", "integer"});
        json_.member("minimum", int64_t{0});
        json_.member("pattern", "^([0-9A-Fa-f]{2}){1,8}$");
        return;
      case KeyType::kColumns:
        return columns();
      case KeyType::kIdentifiers:
        return identifiers();
      case KeyType::kCells:
        return list(1, [&] { scalar(true); });
      case KeyType::kTextMap:
        return texts(key.least);
      case KeyType::kTextMaps:
        return texts_by_language();
      case KeyType::kMap:
        ref(*key.map);
        return field_words(key);
      case KeyType::kMaps:
        return list(key.least, [&] { ref(*key.map); });
      case KeyType::kSecret:
        scalar();
        json_.member("pattern", "^(?!credential:(\\.{0,2}$|.*/))");
        return;
      case KeyType::kAddresses:
        return list(0, [&] { pattern("^[0-9A-Fa-f:.]+$"); });
      case KeyType::kPointer:
        return pattern(kPointer);
      case KeyType::kPointers:
        return one_or_more([&] { pattern(kPointer); }, 8);
      case KeyType::kScalar:
        return types({"string", "number", "boolean"});
      case KeyType::kValues:
        json_.member("type", "object");
        if (key.least > 0) json_.member("minProperties", key.least);
        json_.key("propertyNames").begin_object().member("minLength", int64_t{1}).end_object();
        json_.key("additionalProperties").begin_object();
        value(*key.map);
        json_.end_object();
        return;
      case KeyType::kValueList:
        return list(0, [&] { value(*key.map); });
      case KeyType::kTree:
        types({"object", "array"});
        json_.member("$ref", kTreeRef);
        return;
      case KeyType::kElement:
        json_.member("type", "object").member("minProperties", int64_t{1});
        json_.member("maxProperties", int64_t{1}).key("additionalProperties").begin_object();
        types({"object", "string", "number", "boolean", "null"});
        json_.member("$ref", kTreeRef).end_object();
        return;
      case KeyType::kChoiceOrMap:
        json_.key("anyOf").begin_array().begin_object();
        choices(key);
        json_.end_object().begin_object();
        ref(*key.map);
        json_.end_object().end_array();
        return;
    }
  }

  template <class Item>
  void one_or_more(Item item, int64_t most = 0) {
    json_.key("anyOf").begin_array().begin_object();
    item();
    json_.end_object().begin_object();
    list(1, item);
    if (most > 0) json_.member("maxItems", most);
    json_.end_object().end_array();
  }

  // A constant, or a map that is a value.
  void value(const KeySet& map) {
    json_.key("anyOf").begin_array().begin_object();
    types({"string", "number", "boolean"});
    json_.end_object().begin_object();
    ref(map);
    json_.end_object().end_array();
  }

  // What trees.h says of maps in trees.
  void tree_def(std::span<const KeySet* const> page) {
    const KeySet* map = nullptr;
    for (const KeySet* keys : page) {
      for (const Key& key : keys->keys) {
        if (key.type == KeyType::kTree) map = key.map;
      }
    }
    if (map == nullptr) return;
    json_.key("tree").begin_object().key("anyOf").begin_array().begin_object();
    types({"string", "number", "boolean", "null"});
    json_.end_object().begin_object();
    list(0, [&] { json_.member("$ref", kTreeRef); });
    json_.end_object().begin_object();
    ref(*map);
    json_.end_object().begin_object();
    spelled_members();
    json_.end_object().begin_object();
    plain_members(*map);
    json_.end_object().end_array().end_object();
  }

  void members_of_a_tree() {
    json_.member("type", "object").key("additionalProperties").begin_object();
    json_.member("$ref", kTreeRef).end_object();
  }

  void spelled_members() {
    json_.member("type", "object").member("maxProperties", int64_t{1});
    json_.key("required").begin_array().text("object").end_array();
    json_.key("properties").begin_object().key("object").begin_object();
    members_of_a_tree();
    json_.end_object().end_object();
  }

  void plain_members(const KeySet& map) {
    members_of_a_tree();
    json_.key("not").begin_object().key("anyOf").begin_array();
    for (const std::string_view source : map.one_of) {
      json_.begin_object();
      has(source);
      json_.end_object();
    }
    json_.begin_object().member("maxProperties", int64_t{1});
    has("object");
    json_.end_object().end_array().end_object();
  }

  void one_of(std::span<const KeySet> kinds) {
    json_.key("oneOf").begin_array();
    for (const KeySet& keys : kinds) {
      json_.begin_object();
      members(keys);
      json_.end_object();
    }
    json_.end_array();
  }

  // Unquoted they look like numbers, to some readers of YAML without the zero in front. Which there
  // are, only the parser tells.
  void identifiers() {
    const auto identifier = [&] {
      types({"string", "integer"});
      json_.member("pattern", "^[0-9]{2,4}$");
      json_.member("minimum", int64_t{0}).member("maximum", int64_t{9999});
    };
    json_.key("anyOf").begin_array().begin_object();
    identifier();
    json_.end_object().begin_object();
    list(1, identifier);
    json_.member("maxItems", int64_t{8}).end_object().end_array();
  }

  void columns() {
    json_.key("anyOf").begin_array().begin_object();
    column();
    json_.end_object().begin_object();
    list(1, [&] { column(); });
    json_.member("maxItems", int64_t{8}).end_object().end_array();
  }

  // The words of a field with a vocabulary: what `words` may lead to (no value too, unless it has
  // to be there), what a default is, and without `words` what a constant may be.
  void field_words(const Key& key) {
    if (key.choices.empty()) return;
    json_.member("type", "object").key("properties").begin_object().key("words").begin_object();
    json_.member("type", "object").key("additionalProperties").begin_object();
    choices(key, !key.required);
    json_.end_object().end_object();
    if (key.map->find("default") != nullptr) {
      json_.key("default").begin_object();
      choices(key);
      json_.end_object();
    }
    json_.end_object();
    json_.key("anyOf").begin_array().begin_object();
    has("words");
    json_.end_object().begin_object().key("properties").begin_object().key("value").begin_object();
    choices(key);
    json_.end_object().end_object().end_object().end_array();
  }

  void choices(const Key& key, bool or_empty = false) {
    json_.key("enum").begin_array();
    if (or_empty) json_.text("");
    for (const std::string_view word : key.choices) {
      json_.text(word);
      if (const auto number = parse_whole(word)) json_.number(*number);
      if (!key.any_case) continue;
      std::string upper(word);
      for (char& c : upper) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
      json_.text(upper);
    }
    json_.end_array();
  }

  void fallback(const Key& key) {
    json_.key("default");
    if (key.type == KeyType::kFlag) {
      json_.boolean(key.fallback == "true");
    } else if (const auto number = parse_whole(key.fallback);
               number && (key.type == KeyType::kWhole || key.type == KeyType::kChoice)) {
      json_.number(*number);
    } else if (key.type == KeyType::kNumber) {
      json_.raw(key.fallback);
    } else if (key.type == KeyType::kDurations) {
      json_.begin_array();
      for (std::string_view rest = key.fallback.substr(1); !rest.empty();) {
        const size_t end = rest.find_first_of(",]");
        json_.text(base::trimmed(rest.substr(0, end)));
        rest.remove_prefix(end + 1);
      }
      json_.end_array();
    } else {
      json_.text(key.fallback);
    }
  }

  // Without control characters, and without blanks around it.
  static constexpr std::string_view kOneLine =
      "^[^\\x00-\\x20\\x7f]([^\\x00-\\x1f\\x7f]*[^\\x00-\\x20\\x7f])?$";
  static constexpr std::string_view kPointer = "^(/([^/~]|~[01])*)*$";
  static constexpr std::string_view kTreeRef = "#/$defs/tree";
  static constexpr std::string_view kDuration = "^[0-9]+(ms|s|min|h|d)$";
  static constexpr std::string_view kLanguage = "^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$";
  static constexpr std::string_view kMoment =
      "^[0-9]{4}-[0-9]{2}-[0-9]{2}([Tt ][0-9]{2}:[0-9]{2}:[0-9]{2}(\\.[0-9]+)?"
      "([Zz]|[+-][0-9]{2}:[0-9]{2}))?$";
  JsonWriter json_;
};

std::string schema_of(std::string_view title, const KeySet& root,
                      std::span<const KeySet* const> page) {
  std::string out;
  SchemaWriter schema(out);
  schema.head(title);
  schema.members(root);
  const KeySet* const roots[] = {&root};
  schema.defs(page, roots);
  return laid_out(out);
}

}  // namespace

std::string settings_schema() {
  return schema_of("girdled.yaml: the configuration", kSettingsKeys, kSettingsPage);
}

std::string policy_schema() { return schema_of("A policy file", kPolicyKeys, kPolicyPage); }

std::string mapping_schema() {
  std::string out;
  SchemaWriter schema(out);
  schema.head("A mapping file");
  schema.json().key("oneOf").begin_array();
  std::vector<const KeySet*> roots;
  for (const KeySet& keys : kMappingKeys) {
    schema.json().begin_object();
    schema.members(keys);
    schema.json().end_object();
    roots.push_back(&keys);
  }
  schema.json().end_array();
  schema.defs(kMappingPage, roots);
  return laid_out(out);
}

}  // namespace girdle::config
