// check() of section.h: a tree against the tables of keys.
#include <algorithm>
#include <map>

#include "base/decimal.h"
#include "base/gs1_identifier.h"
#include "base/text.h"
#include "base/time.h"
#include "config/open_mark.h"
#include "config/section.h"
#include "config/trees.h"
#include "config/values.h"

namespace girdle::config {
namespace {

using base::in_quotes;

using Kind = Node::Kind;

std::string shown(const Node& node) {
  switch (node.kind) {
    case Kind::kEmpty:
      return node.text.empty() ? "nothing" : node.text;
    case Kind::kText:
      return in_quotes(node.text);
    case Kind::kList:
      return node.items.empty() ? "an empty list"
                                : "a list of " + std::to_string(node.items.size());
    case Kind::kMap:
      return "a map";
  }
  return {};
}

// Of shorter words every other is near.
constexpr size_t kLeastForNear = 3;

std::string suggestion(std::string_view word, std::span<const std::string_view> known) {
  if (word.size() < kLeastForNear) return {};
  const std::string_view near = base::nearest(word, known);
  return near.empty() ? std::string() : "; did you mean " + in_quotes(near) + "?";
}

constexpr size_t kMostListed = 24, kFewListed = 4;

// Shown with their marks in quotes where they are marks, and not words.
std::string choices_of(const Key& key) {
  const bool many = key.choices.size() > kMostListed;
  std::vector<std::string> words;
  for (const std::string_view word : many ? key.choices.first(kFewListed) : key.choices) {
    const bool plain = word.find_first_not_of(".,;|' ") != word.npos;
    words.push_back(plain ? std::string(word) : '"' + std::string(word) + '"');
  }
  if (!many) return base::listed(words, "or");
  return "one of the " + std::to_string(key.choices.size()) + " words of the reference, such as " +
         base::listed(words);
}

std::string size_text(int64_t bytes) {
  for (const auto& [shift, unit] : {std::pair(30, "GiB"), {20, "MiB"}, {10, "KiB"}}) {
    if (bytes >> shift << shift == bytes && bytes != 0) {
      return std::to_string(bytes >> shift) + unit;
    }
  }
  return std::to_string(bytes);
}

// "from 0 to 1", "of more than 0 and less than 0.5".
std::string within(const Bounds& bounds) {
  const std::string least(bounds.least), most(bounds.most);
  if (bounds.with_least && bounds.with_most) return "from " + least + " to " + most;
  return (bounds.with_least ? "of at least " : "of more than ") + least +
         (bounds.with_most ? " and at most " : " and less than ") + most;
}

bool is_within(const base::Decimal& number, const Bounds& bounds) {
  const auto least = base::Decimal::parse(bounds.least), most = base::Decimal::parse(bounds.most);
  return (bounds.with_least ? number >= *least : number > *least) &&
         (bounds.with_most ? number <= *most : number < *most);
}

std::string pointer(const std::string& example) {
  return "a JSON Pointer such as " + example +
         ", in which ~1 stands for a \"/\" of a name and ~0 for a \"~\"";
}
constexpr std::string_view kLanguageTag = "the tag of a language, such as en, de or pt-BR";

// "it must be …".
std::string expected(const Key& key) {
  const auto range = [&](auto text) {
    return " from " + text(key.least) + " to " + text(key.most);
  };
  const auto duration = [](int64_t millis) { return base::format_duration(base::Millis(millis)); };
  switch (key.type) {
    case KeyType::kText:
      return "a text that is not empty";
    case KeyType::kTexts:
      return "a list of texts";
    case KeyType::kUnaryTest:
      return "a unary test in quotes, such as \"[0.03..10]\" or \">= 1.5\"";
    case KeyType::kLabel:
      return "a text in one line of at most 200 bytes, without blanks around it";
    case KeyType::kName:
      return "a name of letters, digits, \".\", \"_\" and \"-\", at most 64 of them";
    case KeyType::kPath:
      return "a path";
    case KeyType::kPaths:
      return "a list of paths";
    case KeyType::kFlag:
      return "true or false";
    case KeyType::kWhole:
      return "a whole number" + range([](int64_t number) { return std::to_string(number); });
    case KeyType::kNumber:
      return "a number " + within(key.bounds);
    case KeyType::kDuration:
      return "a duration" + range(duration) + ", such as 200ms, 45s, 2min, 8h or 30d";
    case KeyType::kDurations:
      return "a list of durations" + range(duration) + ", such as [5s, 30min, 2h]";
    case KeyType::kSize:
      return "a size" + range(size_text) + ", such as 4096, 64KiB or 1MiB";
    case KeyType::kChoice:
      return choices_of(key);
    case KeyType::kChoices:
      return choices_of(key) + ", or a list of them";
    case KeyType::kChoiceOrMap:
      return choices_of(key) + ", or a map";
    case KeyType::kHostPort:
      return "host:port with a port from 1 to 65535";
    case KeyType::kZone:
      return "the name of a time zone, such as Europe/Brussels";
    case KeyType::kLanguage:
      return std::string(kLanguageTag);
    case KeyType::kMoment:
      return "a date such as 2026-11-02, or a time with its offset such as "
             "2026-11-02T09:00:00+01:00";
    case KeyType::kTimeForm:
    case KeyType::kWrittenForm:
      return "rfc3339, unix, unix_ms or a pattern such as \"%d.%m.%Y %H:%M:%S\"";
    case KeyType::kBytes:
      return "one to eight bytes, each as two hexadecimal digits, such as 02 or 0d0a";
    case KeyType::kColumns:
      return "the name of a raw field, or a list of one to eight of them";
    case KeyType::kIdentifiers:
      return "an application identifier of GS1, such as 21 or 8004, or a list of one to eight of "
             "them";
    case KeyType::kConstant:
      return "a text";
    case KeyType::kCells:
      return "a list of cells, each a text in single quotes";
    case KeyType::kTextMap:
      return key.least > 0 ? "a map of at least one text" : "a map of texts";
    case KeyType::kTextMaps:
      return "a map of languages, each with a map of texts";
    case KeyType::kTests:
      return "a map of raw fields, each with a text or a list of texts";
    case KeyType::kMap:
      return "a map of keys and values";
    case KeyType::kSections:
      return "a list of sections, each a map of keys and values after a dash";
    case KeyType::kSecret:
      return "the path of a file, or credential:NAME for a credential of systemd";
    case KeyType::kAddresses:
      return "a list of IP addresses, such as [169.254.7.9, \"fe80::9\"]";
    case KeyType::kPointer:
      return pointer("/id");
    case KeyType::kPointers:
      return pointer("/data/finding") + ", or a list of one to eight of them";
    case KeyType::kScalar:
      return "a text, a number, true or false";
    case KeyType::kValues:
      return std::string(key.least > 0 ? "a map of at least one name and its value"
                                       : "a map of names and values") +
             ", such as { item: { from: /subject } }";
    case KeyType::kValueList:
      return "a list of values, such as [items, { from: /subject }]";
    case KeyType::kTree:
      return "a map, a value with from, or a list";
    case KeyType::kElement:
      return "a map with one key, the root element";
    case KeyType::kMaps:
      return key.least > 0 ? "a list of at least one map of keys and values, each after a dash"
                           : "a list of maps of keys and values, each after a dash";
  }
  return {};
}

base::TimeForm::Use form_use(const Key& key) {
  return key.type == KeyType::kWrittenForm ? base::TimeForm::Use::kWrite : base::TimeForm::Use::kRead;
}

// "each must be …": of the items of a list.
std::string expected_item(const Key& key) {
  Key one = key;
  if (key.type == KeyType::kPaths) one.type = KeyType::kPath;
  if (key.type == KeyType::kDurations) one.type = KeyType::kDuration;
  if (key.type == KeyType::kTexts) one.type = KeyType::kText;
  if (key.type == KeyType::kChoices) one.type = KeyType::kChoice;
  if (key.type == KeyType::kColumns) return "the name of a raw field";
  if (key.type == KeyType::kIdentifiers)
    return "an application identifier of GS1, such as 21 or 8004";
  if (key.type == KeyType::kCells) return "a text in single quotes";
  if (key.type == KeyType::kAddresses) return "an IP address, such as 169.254.7.9 or \"fe80::9\"";
  if (key.type == KeyType::kPointers) return pointer("/data/finding");
  return expected(one);
}

// What a draft left to a person; refused as the value of whichever key.
bool is_left_open(const Node& node) { return node.scalar() == kFillIn; }

bool is_choice(std::string_view text, const Key& key) {
  std::string word(text);
  if (key.any_case) {
    for (char& c : word) c = base::lower(c);
  }
  return std::find(key.choices.begin(), key.choices.end(), word) != key.choices.end();
}

class Checker {
 public:
  explicit Checker(const Report& report) : report_(report) {}

  // `else_hint` is told besides of a key that is none, and near to none.
  void map(const Node& node, const KeySet& keys, std::string_view at,
           std::string_view else_hint = {}) const {
    const std::string what(keys.name.empty() ? at : keys.name);
    if (node.kind != Kind::kMap) {
      report_(node.mark, what + " must be a map of keys and values, not " + shown(node));
      return;
    }
    for (const Node::Entry& entry : node.entries) {
      if (const Key* key = keys.find(entry.key->text)) {
        value(entry, *key);
      } else if (is_open(entry.key->text, keys)) {
        map(*entry.value, *keys.open_map, entry.key->text);
      } else {
        unknown(*entry.key, keys, what, else_hint);
      }
    }
    missing(node, keys, what);
  }

  void value(const Node::Entry& entry, const Key& key) const {
    const Node& node = *entry.value;
    if (node.kind == Kind::kEmpty && key.may_be_empty) return;
    switch (key.type) {
      case KeyType::kMap:
        if (node.kind == Kind::kMap) return map(node, *key.map, key.name);
        break;
      case KeyType::kChoiceOrMap:
        if (node.kind == Kind::kMap) return map(node, *key.map, key.name);
        if (fits(node, key)) return;
        break;
      case KeyType::kMaps:
        if (node.kind != Kind::kList || static_cast<int64_t>(node.items.size()) < key.least) break;
        for (const Node* item : node.items) map(*item, *key.map, key.name);
        return;
      case KeyType::kTextMap:
        if (node.kind != Kind::kMap || static_cast<int64_t>(node.entries.size()) < key.least) break;
        return text_map(node, key, key.name);
      case KeyType::kTextMaps:
        if (node.kind == Kind::kMap) return text_maps(node, key);
        break;
      case KeyType::kTests:
        if (node.kind == Kind::kMap && !node.entries.empty()) return tests(node, key);
        break;
      case KeyType::kSections:
        if (node.kind == Kind::kList && !node.items.empty()) return;
        break;
      case KeyType::kChoices:
        if (node.kind == Kind::kList && !node.items.empty()) return items(node, key);
        if (fits(node, key)) return;
        break;
      case KeyType::kPaths:
      case KeyType::kDurations:
      case KeyType::kTexts:
      case KeyType::kCells:
      case KeyType::kAddresses:
        if (node.kind == Kind::kList) return items(node, key);
        break;
      case KeyType::kColumns:
      case KeyType::kIdentifiers:
      case KeyType::kPointers:
        if (node.kind == Kind::kList) {
          if (node.items.empty() || node.items.size() > 8) break;
          return items(node, key);
        }
        if (fits(node, key)) return;
        break;
      case KeyType::kText:
      case KeyType::kLabel:
      case KeyType::kName:
      case KeyType::kPath:
      case KeyType::kFlag:
      case KeyType::kWhole:
      case KeyType::kNumber:
      case KeyType::kDuration:
      case KeyType::kSize:
      case KeyType::kChoice:
      case KeyType::kHostPort:
      case KeyType::kZone:
      case KeyType::kLanguage:
      case KeyType::kMoment:
      case KeyType::kTimeForm:
      case KeyType::kWrittenForm:
      case KeyType::kBytes:
      case KeyType::kUnaryTest:
      case KeyType::kConstant:
      case KeyType::kSecret:
      case KeyType::kPointer:
      case KeyType::kScalar:
        if (fits(node, key)) return;
        break;
      case KeyType::kValues:
        if (node.kind != Kind::kMap || static_cast<int64_t>(node.entries.size()) < key.least) break;
        return values(node, key);
      case KeyType::kValueList:
        if (node.kind != Kind::kList) break;
        for (const Node* item : node.items) one_value(*item, item->mark, key, "each");
        return;
      case KeyType::kTree:
        if (node.kind == Kind::kMap || node.kind == Kind::kList) return tree(node, node.mark, key);
        break;
      case KeyType::kElement:
        if (node.kind == Kind::kMap) return element(node, key);
        break;
    }
    wrong(Node::place(entry), node, key);
  }

 private:
  static bool is_open(std::string_view name, const KeySet& keys) {
    return keys.open_map != nullptr && name.starts_with(keys.open_prefix) &&
           name.size() > keys.open_prefix.size();
  }

  void unknown(const Node& key, const KeySet& keys, const std::string& what,
               std::string_view else_hint) const {
    std::vector<std::string_view> names;
    for (const Key& known : keys.keys) names.push_back(known.name);
    std::string hint = suggestion(key.text, names);
    std::string open;
    if (keys.open_map != nullptr) {
      open = std::string(keys.open_prefix) + "NAME";
      names.push_back(open);
    }
    if (hint.empty()) hint = "; it has " + base::listed(names) + std::string(else_hint);
    report_(key.mark, what + " has no key " + in_quotes(key.text) + hint);
  }

  void missing(const Node& node, const KeySet& keys, const std::string& what) const {
    const auto there = [&](std::string_view name) {
      return std::any_of(node.entries.begin(), node.entries.end(),
                         [&](const Node::Entry& entry) { return entry.key->text == name; });
    };
    for (const Key& key : keys.keys) {
      if (!key.required || there(key.name)) continue;
      report_(node.mark, what + " needs the key \"" + std::string(key.name) + "\" (" +
                             std::string(key.summary) + ")");
    }
    for (const Node::Entry& entry : node.entries) {
      const Key* key = keys.find(entry.key->text);
      if (key == nullptr || key->needs.empty() || there(key->needs)) continue;
      report_(entry.key->mark, std::string(key->name) + ": it goes with the key \"" +
                                   std::string(key->needs) + "\", which is not there");
    }
    if (!keys.some_of.empty() && std::none_of(keys.some_of.begin(), keys.some_of.end(), there)) {
      report_(node.mark, what + " needs at least one of " + base::listed(keys.some_of) +
                             (keys.some_hint.empty() ? "" : "; " + std::string(keys.some_hint)));
    }
    if (keys.one_of.empty()) return;
    std::vector<std::string_view> given;
    std::copy_if(keys.one_of.begin(), keys.one_of.end(), std::back_inserter(given), there);
    if (given.size() == 1) return;
    report_(node.mark, what + " needs exactly one of " + base::listed(keys.one_of) + "; it has " +
                           (given.empty() ? "none" : base::listed(given)));
  }

  void items(const Node& node, const Key& key) const {
    if (node.items.empty() && key.type == KeyType::kCells) return wrong(node.mark, node, key);
    for (const Node* item : node.items) {
      if (fits(*item, key)) continue;
      if (is_left_open(*item)) {
        still_open(item->mark, key, expected_item(key));
        continue;
      }
      report_(item->mark, std::string(key.name) + ": each must be " + expected_item(key) +
                              ", not " + shown(*item));
    }
  }

  // `at` is the key's name, or what is under it where the texts are.
  void text_map(const Node& node, const Key& key, std::string_view at) const {
    for (const Node::Entry& entry : node.entries) {
      // What words may become, their field knows.
      if (is_left_open(*entry.value) && key.name != "words") {
        still_open(Node::place(entry), key, in_quotes(entry.key->text));
      }
      if (entry.value->scalar()) continue;
      report_(Node::place(entry),
              std::string(at) + ": " + in_quotes(entry.key->text) + " must have a text, not " +
                  shown(*entry.value) +
                  (entry.value->kind == Kind::kEmpty ? "; write \"\" for an empty text" : ""));
    }
  }

  void text_maps(const Node& node, const Key& key) const {
    bool told = false;
    std::map<std::string, int> lines;
    for (const Node::Entry& entry : node.entries) {
      const std::string& language = entry.key->text;
      if (is_left_open(*entry.value)) {
        still_open(Node::place(entry), key, in_quotes(language));
      } else if (entry.value->scalar()) {
        if (!told) without_language(entry, key);
        told = true;
      } else {
        texts_in(entry, key, lines);
      }
    }
  }

  // A text where a language should be. All of a file are of one mistake, told once.
  void without_language(const Node::Entry& entry, const Key& key) const {
    const std::string name(key.name), code = base::excerpt(entry.key->text);
    report_(entry.key->mark, name +
                                 ": texts stand under their language: put them all one deeper, " +
                                 "such as " + name + ": { en: { " + code + ": … } }");
  }

  void texts_in(const Node::Entry& entry, const Key& key, std::map<std::string, int>& lines) const {
    const std::string name(key.name), &language = entry.key->text;
    const auto tag = language_tag(language);
    if (!tag) {
      return report_(entry.key->mark, name + ": each key must be " + std::string(kLanguageTag) +
                                          ", not " + in_quotes(language));
    }
    const auto [first, fresh] = lines.emplace(*tag, entry.key->mark.line);
    if (!fresh) {
      report_(entry.key->mark, name + ": the language " + *tag + " is here already (line " +
                                   std::to_string(first->second) + "); each comes once");
    }
    if (entry.value->kind == Kind::kMap) return text_map(*entry.value, key, name + ": " + language);
    report_(Node::place(entry), name + ": " + in_quotes(language) +
                                    " must have a map of texts, not " + shown(*entry.value));
  }

  void tests(const Node& node, const Key& key) const {
    for (const Node::Entry& entry : node.entries) {
      const Node& value = *entry.value;
      const bool list = value.kind == Kind::kList && !value.items.empty();
      const bool texts = list ? std::all_of(value.items.begin(), value.items.end(),
                                            [](const Node* item) { return item->scalar(); })
                              : value.scalar().has_value();
      if (is_left_open(value) ||
          std::any_of(value.items.begin(), value.items.end(),
                      [](const Node* item) { return is_left_open(*item); })) {
        still_open(Node::place(entry), key, in_quotes(entry.key->text));
      }
      if (texts) continue;
      report_(Node::place(entry), std::string(key.name) + ": " + in_quotes(entry.key->text) +
                                      " must have a text or a list of texts, not " + shown(value));
    }
  }

  void values(const Node& node, const Key& key) const {
    for (const Node::Entry& entry : node.entries) {
      if (entry.key->text.empty()) {
        report_(entry.key->mark, std::string(key.name) + ": a name must not be empty");
      }
      one_value(*entry.value, Node::place(entry), key, in_quotes(entry.key->text));
    }
  }

  void one_value(const Node& node, const Mark& mark, const Key& key,
                 const std::string& what) const {
    if (node.kind == Kind::kMap) return map(node, *key.map, key.name);
    if (is_left_open(node)) return still_open(mark, key, what);
    if (node.kind == Kind::kText) return;
    report_(mark, std::string(key.name) + ": " + what +
                      " must be a constant, or a map with from, not " + shown(node) +
                      (node.kind == Kind::kEmpty ? "; write \"\" for an empty text" : ""));
  }

  void tree(const Node& node, const Mark& mark, const Key& key) const {
    if (is_left_open(node)) return still_open(mark, key, {});
    if (node.kind == Kind::kMap && is_value(node)) {
      return map(node, *key.map, key.name,
                 "; members called from or value stand with the others under object: { object: { "
                 "value: … } }");
    }
    for (const Node* item : node.items) tree(*item, item->mark, key);
    const Node* spelled = spelled_members(node);
    if (spelled != nullptr && spelled->kind != Kind::kMap) {
      return report_(Node::place(node.entries.front()),
                     "object: it must be a map of members, not " + shown(*spelled) +
                         "; for a member of that name write { object: { object: … } }");
    }
    for (const Node::Entry& entry : (spelled == nullptr ? node : *spelled).entries) {
      tree(*entry.value, Node::place(entry), key);
    }
  }

  // A map with the root element for its one key.
  void element(const Node& node, const Key& key) const {
    if (node.entries.size() != 1) {
      return report_(node.mark, std::string(key.name) + ": it must be " + expected(key) +
                                    ", and it has " + std::to_string(node.entries.size()));
    }
    const Node::Entry& root = node.entries.front();
    if (root.value->kind == Kind::kList) {
      return report_(root.value->mark,
                     std::string(key.name) + ": the root element comes once, and " +
                         in_quotes(root.key->text) + " has " + shown(*root.value) +
                         "; put the list under a name inside it");
    }
    tree(*root.value, Node::place(root), key);
  }

  void wrong(const Mark& mark, const Node& node, const Key& key) const {
    const std::string name(key.name);
    if (is_left_open(node)) return still_open(mark, key, expected(key));
    if (node.kind == Kind::kText) {
      if (const std::string why = closer(node.text, key); !why.empty()) {
        return report_(mark, name + ": " + why);
      }
    }
    report_(mark, name + ": it must be " + expected(key) + ", not " + shown(node) +
                      (node.kind == Kind::kText ? suggestion(node.text, key.choices) : "") +
                      (key.else_hint.empty() ? "" : "; " + std::string(key.else_hint)));
  }

  // "path: still to be filled in: the folder …".
  void still_open(const Mark& mark, const Key& key, const std::string& what) const {
    report_(mark, std::string(key.name) + ": still to be filled in: " +
                      (says_what_for(key.type) ? what : std::string(key.summary)));
  }

  // Whether what a key of this type must be also tells what it is for.
  static bool says_what_for(KeyType type) {
    constexpr KeyType kAnyText[] = {KeyType::kText,      KeyType::kLabel,    KeyType::kName,
                                    KeyType::kPath,      KeyType::kPaths,    KeyType::kColumns,
                                    KeyType::kSecret,    KeyType::kConstant, KeyType::kCells,
                                    KeyType::kUnaryTest, KeyType::kScalar,   KeyType::kValueList,
                                    KeyType::kTree,      KeyType::kElement};
    return std::find(std::begin(kAnyText), std::end(kAnyText), type) == std::end(kAnyText);
  }

  // Where another part of the program knows better what is wrong.
  static std::string closer(const std::string& text, const Key& key) {
    if (key.type == KeyType::kZone) {
      const auto zone = base::Zone::find(text);
      return zone ? std::string() : zone.error().text;
    }
    if (key.type == KeyType::kTimeForm || key.type == KeyType::kWrittenForm) {
      const auto form = base::TimeForm::compile(text, form_use(key));
      return form ? std::string() : form.error().text;
    }
    if (key.type == KeyType::kSecret && credential_of(text)) {
      return "the name of a credential is that of a file, without \"/\", not " +
             in_quotes(*credential_of(text));
    }
    if ((key.type == KeyType::kPointer || key.type == KeyType::kPointers) &&
        text.find('/') != text.npos && is_pointer('/' + text)) {
      return "a JSON Pointer begins with \"/\": " + in_quotes('/' + text) + ", not " +
             in_quotes(text);
    }
    return {};
  }

  const Report& report_;
};

template <class Look>
bool says_nothing(Look look) {
  const std::string file;
  Problems problems;
  const Report report(file, problems);
  look(Checker(report));
  return problems.empty();
}

}  // namespace

void check(const Node& node, const KeySet& keys, const Report& report) {
  Checker(report).map(node, keys, keys.name);
}

bool fits(const Node& node, const Key& key) {
  const auto scalar = node.scalar();
  if (!scalar || is_left_open(node)) return false;
  const std::string_view text = *scalar;
  if (node.kind == Node::Kind::kEmpty) return takes_any_text(key.type);
  const auto within = [&](int64_t number) { return number >= key.least && number <= key.most; };
  switch (key.type) {
    case KeyType::kText:
    case KeyType::kTexts:
    case KeyType::kUnaryTest:
    case KeyType::kColumns:
      return !text.empty();
    case KeyType::kPath:
    case KeyType::kPaths:
      return !text.empty() && text.find('\0') == text.npos;
    case KeyType::kLabel:
      return is_label(text);
    case KeyType::kName:
      return is_name(text);
    case KeyType::kFlag:
      return text == "true" || text == "false";
    case KeyType::kWhole: {
      const auto number = parse_whole(text);
      return number && within(*number);
    }
    case KeyType::kNumber: {
      const auto number = base::Decimal::parse(text);
      return number && is_within(*number, key.bounds);
    }
    case KeyType::kDuration:
    case KeyType::kDurations: {
      const auto duration = base::parse_duration(text);
      return duration && within(duration->count());
    }
    case KeyType::kSize: {
      const auto size = parse_size(text);
      return size && *size <= static_cast<uint64_t>(key.most) &&
             within(static_cast<int64_t>(*size));
    }
    case KeyType::kChoice:
    case KeyType::kChoices:
    case KeyType::kChoiceOrMap:
      return is_choice(text, key);
    case KeyType::kHostPort:
      return parse_host_port(text).has_value();
    case KeyType::kZone:
      return base::Zone::find(text).ok();
    case KeyType::kLanguage:
      return language_tag(text).has_value();
    case KeyType::kMoment:
      return parse_moment(text, base::Zone::utc()).has_value();
    case KeyType::kTimeForm:
    case KeyType::kWrittenForm:
      return !text.empty() && base::TimeForm::compile(text, form_use(key)).ok();
    case KeyType::kBytes:
      return parse_bytes(text).has_value();
    case KeyType::kIdentifiers:
      return base::Gs1Identifier::named(text).has_value();
    case KeyType::kSecret:
      return !text.empty() && text.find('\0') == text.npos &&
             (!credential_of(text) || is_credential_name(*credential_of(text)));
    case KeyType::kAddresses:
      return is_address(text);
    case KeyType::kPointer:
    case KeyType::kPointers:
      return is_pointer(text);
    case KeyType::kConstant:
    case KeyType::kCells:
    case KeyType::kScalar:
      return true;
    case KeyType::kTextMap:
    case KeyType::kTextMaps:
    case KeyType::kTests:
    case KeyType::kMap:
    case KeyType::kMaps:
    case KeyType::kSections:
    case KeyType::kValues:
    case KeyType::kValueList:
    case KeyType::kTree:
    case KeyType::kElement:
      return false;
  }
  return false;
}

bool Section::sound() const {
  return says_nothing([&](const Checker& checker) { checker.map(*node_, *keys_, keys_->name); });
}

bool Section::sound(std::string_view key) const {
  for (const Node::Entry& entry : node_->entries) {
    if (entry.key->text != key) continue;
    return says_nothing([&](const Checker& checker) { checker.value(entry, key_of(key)); });
  }
  return !key_of(key).required;
}

}  // namespace girdle::config
