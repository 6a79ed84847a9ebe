// What an outlet sends, as its configuration says it. Plain values with their places; delivery/
// compiles them.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "base/clock.h"
#include "model/mapping.h"

namespace girdle::config {

struct Text {
  std::string text;
  model::Mark mark;
};

// One value of a message: a constant, or what stands in the event. Without a place (line 0) it
// stands in for one that is wrong and was told.
struct Leaf {
  model::Mark mark;
  std::vector<Text> from;  // JSON Pointers (RFC 6901) into the event; none: a constant
  std::string join = " ";  // stands between the texts of several
  // Of the constant, or `as`. kAsItIs: a constant is a text; what stands in the event keeps its
  // kind (JSON bodies).
  enum class Type : uint8_t { kText, kNumber, kFlag, kNull, kAsItIs } type = Type::kAsItIs;
  std::string constant;
  std::vector<std::pair<Text, Text>> words;  // our word and theirs; empty: our words are sent
  bool has_default = false;                  // where there is no value
  Text default_value;
  char decimal_mark = '.';
  std::string form;  // of a time, as in a mapping; empty: as it is
  std::string zone;  // IANA name; empty: the site's
};

// A tree of values: an object, a list or a leaf.
struct Tree {
  model::Mark mark;
  std::variant<Leaf, std::vector<std::pair<Text, Tree>>, std::vector<Tree>> value;
};

struct Body {
  enum class Kind : uint8_t {
    kStructured,  // CloudEvents, one event a message: the default
    kBinary,
    kBatch,
    kWebhook,  // the envelope of Standard Webhooks
    kEpcis,
    kJson,
    kXml,
    kForm,
    kCsv,
  } kind = Kind::kStructured;
  model::Mark mark;
  Tree tree;  // kJson; kXml: an object with one member, the root element
  std::vector<std::pair<Text, Leaf>> fields;  // kForm, kCsv: names and values, in their order
  // kXml: the name of the element around several outcomes in one message; empty = none. There where
  // the outlet's batch may have more than one.
  Text list;
  // kCsv.
  char delimiter = ',';
  bool header = true;
  // kEpcis.
  struct Epcis {
    Text item;      // the URI of a stock number, with {stock_number} in it
    Text location;  // of the site; empty = not told
    Text reader;    // the URI of an instrument, with {instrument} in it; empty = not told
  } epcis;
};

}  // namespace girdle::config
