// The reference of pages.h.
#include "base/text.h"
#include "base/time.h"
#include "config/keys.h"
#include "config/pages.h"

namespace girdle::config {
namespace {

std::string code(std::string_view text) { return '`' + std::string(text) + '`'; }

std::string words(std::span<const std::string_view> choices) {
  std::string out;
  for (const std::string_view word : choices) {
    if (!out.empty()) out += ' ';
    // A bar is the end of a cell, also between marks of code.
    out += word == " " ? "`\" \"`" : word == "|" ? "`\\|`" : code(word);
  }
  return out;
}

std::string size(int64_t bytes) {
  return bytes >> 30 << 30 == bytes   ? std::to_string(bytes >> 30) + "GiB"
         : bytes >> 20 << 20 == bytes ? std::to_string(bytes >> 20) + "MiB"
                                      : std::to_string(bytes);
}

std::string range(const Key& key) {
  const auto duration = [](int64_t millis) { return base::format_duration(base::Millis(millis)); };
  return duration(key.least) + " to " + duration(key.most);
}

// An end that is outside stands in words.
std::string bounds(const Bounds& bounds) {
  return (bounds.with_least ? "" : "above ") + std::string(bounds.least) +
         (bounds.with_most ? " to " : " to below ") + std::string(bounds.most);
}

std::string type(const Key& key) {
  switch (key.type) {
    case KeyType::kText:
    case KeyType::kConstant:
      return "text";
    case KeyType::kLabel:
      return "text in one line";
    case KeyType::kName:
      return "name";
    case KeyType::kPath:
      return "path";
    case KeyType::kPaths:
      return "list of paths";
    case KeyType::kTexts:
      return "list of texts";
    case KeyType::kFlag:
      return "`true` `false`";
    case KeyType::kWhole:
      return "number, " + std::to_string(key.least) + " to " + std::to_string(key.most);
    case KeyType::kNumber:
      return "number, " + bounds(key.bounds);
    case KeyType::kDuration:
      return "duration, " + range(key);
    case KeyType::kDurations:
      return "list of durations, " + range(key);
    case KeyType::kSize:
      return "size, " + (key.least > 1 ? size(key.least) + ' ' : "") + "to " + size(key.most);
    case KeyType::kChoice:
      return words(key.choices);
    case KeyType::kChoices:
      return words(key.choices) + " or a list of them";
    case KeyType::kChoiceOrMap:
      return words(key.choices) + " or a map";
    case KeyType::kHostPort:
      return "host:port";
    case KeyType::kZone:
      return "time zone";
    case KeyType::kLanguage:
      return "language";
    case KeyType::kMoment:
      return "date or time";
    case KeyType::kTimeForm:
    case KeyType::kWrittenForm:
      return "form of a time";
    case KeyType::kBytes:
      return "one to eight bytes in hexadecimal digits";
    case KeyType::kUnaryTest:
      return "unary test";
    case KeyType::kColumns:
      return "text, or a list of up to eight";
    case KeyType::kIdentifiers:
      return "two to four digits, or a list of up to eight";
    case KeyType::kCells:
      return "list of cells";
    case KeyType::kTextMap:
      return "map of texts";
    case KeyType::kTextMaps:
      return "map of maps of texts";
    case KeyType::kTests:
      return "map of texts, or of lists of texts";
    case KeyType::kSections:
      return "list of sections";
    case KeyType::kMap:
      return key.choices.empty() ? "map" : "map; words: " + words(key.choices);
    case KeyType::kMaps:
      return "list of maps";
    case KeyType::kSecret:
      return "path, or `credential:NAME`";
    case KeyType::kAddresses:
      return "list of IP addresses";
    case KeyType::kPointer:
      return "JSON Pointer";
    case KeyType::kPointers:
      return "JSON Pointer, or a list of up to eight";
    case KeyType::kScalar:
      return "text, number, `true` `false`";
    case KeyType::kValues:
      return "map of values";
    case KeyType::kValueList:
      return "list of values";
    case KeyType::kTree:
      return "tree of values";
    case KeyType::kElement:
      return "map of one name, and a tree of values";
  }
  return {};
}

void append_table(std::string& out, const KeySet& keys) {
  out += "#### " + std::string(keys.title) + "\n\n";
  if (!keys.one_of.empty() && keys.like == nullptr)
    out += "Exactly one of " + words(keys.one_of) + ".\n\n";
  if (!keys.some_of.empty()) out += "At least one of " + words(keys.some_of) + ".\n\n";
  if (keys.like != nullptr) out += "The keys of *" + std::string(keys.like->title) + "*, and:\n\n";
  out += "| key | holds | default | meaning |\n|---|---|---|---|\n";
  for (const Key& key : keys.keys) {
    if (keys.like != nullptr && keys.like->find(key.name) != nullptr) continue;
    out += "| " + code(key.name) + " | " + type(key) + " | ";
    out += key.required ? "**required**" : key.fallback.empty() ? "" : words({&key.fallback, 1});
    out += " | " + std::string(key.summary) + " |\n";
  }
  if (keys.open_map != nullptr) {
    out += "| " + code(std::string(keys.open_prefix) + "NAME") + " | map | | Anything else |\n";
  }
  out += '\n';
}

void append_page(std::string& out, std::string_view title, std::span<const KeySet* const> page) {
  out += "### " + std::string(title) + "\n\n";
  for (const KeySet* keys : page) append_table(out, *keys);
}

}  // namespace

std::string reference() {
  std::string out;
  append_page(out, "girdled.yaml", kSettingsPage);
  append_page(out, "A mapping", kMappingPage);
  append_page(out, "A policy, and a decision table", kPolicyPage);
  return out;
}

}  // namespace girdle::config
