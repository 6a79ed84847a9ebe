// What stands in a path in the place of an {id}.
#pragma once

#include <charconv>
#include <optional>
#include <string>
#include <string_view>

#include "api/message.h"
#include "api/problem.h"
#include "base/text.h"
#include "ledger/ledger.h"

namespace girdle::api {

// A number of the ledger, as it is written: digits without a leading zero. Nothing for any other text.
inline std::optional<ledger::Number> number_of(std::string_view text) {
  ledger::Number number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  if (!whole || number < 1 || text.front() == '0') return std::nullopt;
  return number;
}

// 404. `thing`: "reading"; `where`: the list that has those that there are.
inline Response no_such(std::string_view thing, std::string_view id, std::string_view where) {
  return problem(404, "there is no " + std::string(thing) + ' ' + base::in_quotes(id) + "; GET " + std::string(where) +
                          " lists what there is");
}

}  // namespace girdle::api
