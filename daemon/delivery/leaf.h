// One value of a message of one's own: a constant, or what stands in the event, in the receiver's
// words and form.
//
// Nothing is guessed: a word that the configuration does not translate is an error of that outcome.
// What the event does not have, or has as null, is the leaf's default, else no value.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "config/body.h"
#include "config/problem.h"
#include "delivery/event_fields.h"
#include "delivery/parsed_event.h"

namespace girdle::delivery {

// As it is sent. The views stay while the leaf, the event and the scratch text do that it was made
// from.
struct Value {
  enum class Kind : uint8_t {
    kNone,
    kText,
    kNumber,  // `text` is a number of JSON (RFC 8259 section 6)
    kFlag,    // `text` is true or false
    kTree,    // an object or a list of the event
  } kind = Kind::kNone;
  std::string_view text{};
  simdjson::dom::element tree{};
};

// Compiled once, then asked for each event. Not thread-safe.
class Leaf {
 public:
  // Whether an object or a list of the event can stand where the leaf does.
  enum class Holds : bool { kTexts, kTrees };

  // Reports everything that is wrong, at its place; then there is none. `site` is the house's zone.
  static std::optional<Leaf> compile(const config::Leaf& source, Holds holds,
                                     const base::Zone& site, const config::Report& report);

  // The error names the field. `scratch` is overwritten.
  base::Result<Value> value(const ParsedEvent& event, std::string& scratch) const;

  // A constant is the same in every message.
  bool is_constant() const { return sources_.empty(); }
  const Value& constant() const { return fallback_; }
  // False where an event may have nothing for it, and it has no default.
  bool always_has_value() const;
  // For errors: "/data/subject/stock_number", or "a constant".
  std::string name() const;

  Leaf(Leaf&&) = default;
  Leaf& operator=(Leaf&&) = default;

 private:
  friend class LeafCompiler;
  struct Source {
    EventPath path;
    bool is_time = false, is_decimal = false;  // that is written in another form
  };
  struct TimeOut {
    base::TimeForm form;
    base::Zone zone;
  };

  Leaf() = default;
  base::Result<void> append(std::string& out, const Source& source,
                            simdjson::dom::element element) const;
  base::Result<void> append_text(std::string& out, const Source& source,
                                 std::string_view text) const;
  base::Result<Value> one(const Source& source, simdjson::dom::element element,
                          std::string& scratch) const;
  base::Result<Value> several(const ParsedEvent& event, std::string& scratch) const;
  base::Result<std::string_view> word_for(const Source& source, std::string_view ours) const;
  std::vector<Source> sources_;  // none: a constant
  std::string join_;
  Value::Kind as_ = Value::Kind::kText;
  bool as_it_is_ = true;
  std::vector<std::pair<std::string, std::string>> words_;
  std::optional<TimeOut> time_;
  char decimal_mark_ = '.';
  bool has_default_ = false;
  // The constant, or the default. Its text is kept apart from the object's own memory: leaves are
  // moved.
  std::unique_ptr<std::string> fallback_text_;
  Value fallback_;
};

}  // namespace girdle::delivery
