// The event that tells an outcome, written and read again: where the values of one's own messages
// come from.
#pragma once

#include <simdjson.h>

#include <optional>
#include <string>
#include <string_view>

#include "delivery/event_fields.h"
#include "model/outcome.h"

namespace girdle::delivery {

// Holds one event at a time; what is found in it stays until the next. Its memory is used again.
// Not thread-safe.
class ParsedEvent {
 public:
  void read(const model::Outcome& outcome);

  // Where the path leads, null included; nothing where the event has nothing there.
  std::optional<simdjson::dom::element> find(const EventPath& path) const;

 private:
  std::string bytes_;  // and the padding that simdjson reads past the end
  simdjson::dom::parser parser_;
  simdjson::dom::element root_;
  simdjson::dom::element data_;  // most paths lead there
};

}  // namespace girdle::delivery
