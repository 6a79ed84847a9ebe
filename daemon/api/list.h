// Lists: items, and a cursor with which the next request goes on.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "api/message.h"
#include "api/query.h"
#include "base/clock.h"
#include "base/json.h"
#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::api {

// A place in a list, as a text that can stand in an address. `list` is a letter that tells lists apart.
std::string cursor_text(char list, const ledger::Cursor& cursor);
// Nothing: it is of another list, or none of ours.
std::optional<ledger::Cursor> cursor_of(char list, std::string_view text);

// Reads a beginning of stock numbers, as the ledger's filter has it; empty where it is not given.
std::string prefix_of(Query& query, std::string_view name);
// Reads `since` and `until`.
void read_span(Query& query, ledger::Filter& filter);
// Reads `limit` and `cursor`.
ledger::Page page_of(Query& query, const Request& request, char list);

// 200 with {"items":[…],"next":…}.
class ListWriter {
 public:
  ListWriter() { json_.begin_object().key("items").begin_array(); }
  base::JsonWriter& item() { return json_; }
  // `item` is a whole JSON value.
  void add(std::string_view item) { json_.raw(item); }
  Response finish(char list, const ledger::Next& next);

 private:
  std::string body_;
  base::JsonWriter json_{body_};
};

// A member that is a time, or null.
void time_member(base::JsonWriter& json, std::string_view name, const std::optional<base::Instant>& time);

}  // namespace girdle::api
