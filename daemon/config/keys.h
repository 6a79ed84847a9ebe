// Every key that the configuration may have, as data: what it is, what it must hold, its default,
// and what it means. The parser (section.h), the check for unknown keys, schemas/*.schema.json and
// the reference in README.md are all made from these tables; tests hold them together.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace girdle::config {

struct KeySet;

enum class KeyType : uint8_t {
  kText,         // any text but an empty one
  kLabel,        // a text in one line, without blanks around it
  kName,         // letters, digits, ".", "_" and "-": part of addresses and file names
  kPath,         // relative to the folder of girdled.yaml
  kPaths,        // a list of kPath
  kFlag,         // true or false
  kWhole,        // a whole number, `least` to `most`
  kNumber,       // an exact decimal number within `bounds`
  kDuration,     // `least` to `most` milliseconds
  kDurations,    // a list of kDuration
  kTexts,        // a list of kText, an empty one too
  kSize,         // `least` to `most` bytes
  kChoice,       // one of `choices`
  kChoices,      // one of `choices`, or a list of at least one of them
  kHostPort,     // host:port
  kZone,         // an IANA time zone
  kLanguage,     // a tag of a language: en, pt-BR
  kMoment,       // a date, or a time of RFC 3339
  kTimeForm,     // rfc3339, unix, unix_ms or a pattern
  kWrittenForm,  // the same of times that are written; a part of a time is enough
  kBytes,        // one to eight bytes as hexadecimal digits
  kUnaryTest,    // S-FEEL; compiled elsewhere, with its place
  kColumns,      // a text, or a list of one to eight of them
  kIdentifiers,  // an application identifier of GS1, or a list of one to eight of them
  kConstant,     // any text, an empty one too
  kCells,        // a list of at least one text; compiled elsewhere
  kTextMap,      // texts by free names, at least `least`
  kTextMaps,     // by the tag of a language, a kTextMap
  kTests,        // texts, or lists of at least one, by free names; at least one name
  kMap,          // `map`
  kMaps,         // a list of `map`, at least `least`
  kChoiceOrMap,  // one of `choices`, or `map`
  kSections,     // a list of at least one map, each of one of `kinds`; whoever reads it checks each
  kSecret,       // kPath, or `credential:NAME`
  kAddresses,    // a list of IP addresses
  kPointer,      // a JSON Pointer (RFC 6901)
  kPointers,     // one, or a list of one to eight of them
  kScalar,       // a text, an empty one too, a number, true or false
  // Of values of messages (trees.h): each a constant, or a map of `map`.
  kValues,     // by free names, at least `least`
  kValueList,  // in a list
  kTree,       // in maps and lists; null is one, too
  kElement,    // a map with one key, and a tree under it
};

// Whether `~` and `null` are texts like any other there: raw fields, words and cells may be called
// so.
constexpr bool takes_any_text(KeyType type) {
  return type == KeyType::kColumns || type == KeyType::kConstant || type == KeyType::kCells ||
         type == KeyType::kTextMap || type == KeyType::kTextMaps || type == KeyType::kTests;
}

// Decimal numbers as a file writes them. Each end is within the bounds, or just outside.
struct Bounds {
  std::string_view least, most;
  bool with_least = true, with_most = true;
};

struct Key {
  std::string_view name;
  KeyType type = KeyType::kText;
  std::string_view summary = {};
  bool required = false;
  std::string_view fallback = {};  // as a file would write it; empty = none
  // kMap of a mapping's fields: the words that the field may hold.
  std::span<const std::string_view> choices = {};
  int64_t least = 0, most = 0;
  Bounds bounds = {};  // of kNumber
  const KeySet* map = nullptr;
  bool may_be_empty = false;    // a value left out is the same as the key left out
  bool any_case = false;        // kChoice: letters of either case
  std::string_view needs = {};  // the key beside which it makes sense, and only there
  std::span<const KeySet> kinds = {};
  // Told besides where the value is of another shape: what was meant, probably.
  std::string_view else_hint = {};
};

// The keys of one map.
struct KeySet {
  std::string_view name;   // for messages: "an intake"; empty = the key at which the map stands
  std::string_view title;  // for the reference: "intakes[]"
  std::span<const Key> keys;
  std::span<const std::string_view> one_of = {};  // exactly one of these is there
  // Besides `keys`: any name that begins so and goes on, each with a map of `open_map`.
  std::string_view open_prefix = {};
  const KeySet* open_map = nullptr;
  const KeySet* like = nullptr;  // the reference tells only what is not in that one
  std::span<const std::string_view> some_of = {};  // at least one of these is there
  std::string_view some_hint = {};                 // told besides where none is

  // Nothing for a key that is not known.
  const Key* find(std::string_view key) const;
};

extern const KeySet kSettingsKeys;
extern const KeySet kPolicyKeys;
extern const KeySet kTableKeys;
// In the order of model::RecordKind, and then that of a file with sections.
extern const std::span<const KeySet> kMappingKeys;
// In the order of model::RecordKind, and then that of a section whose records are ignored.
extern const std::span<const KeySet> kSectionKeys;

// All of one page of the reference, in its order.
extern const std::span<const KeySet* const> kSettingsPage;
extern const std::span<const KeySet* const> kMappingPage;
extern const std::span<const KeySet* const> kPolicyPage;

}  // namespace girdle::config
