// What stands behind a request's "?", read in one place and refused in one manner: by name, with what would be right.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>

#include "api/message.h"
#include "base/clock.h"
#include "base/text.h"

namespace girdle::api {

// Reads parameters one by one; the first that is wrong is kept, and all after it reads as not given. So a route reads
// what it knows, and asks once.
class Query {
 public:
  // `known`: what this route takes. Anything else is wrong, and so is one that is given twice.
  Query(const Request& request, std::initializer_list<std::string_view> known);

  // UTF-8 without control characters, 1 to `most` bytes; empty where it is not given.
  std::string text(std::string_view name, size_t most = kMostText);
  // RFC 3339.
  std::optional<base::Instant> time(std::string_view name);
  // `true`; nothing else turns anything on.
  bool flag(std::string_view name);
  // A whole number from `low` to `high`.
  int64_t number(std::string_view name, int64_t low, int64_t high, int64_t otherwise);
  // One of a closed list of words; `parse` gives nothing for any other.
  template <class Value>
  std::optional<Value> word(std::string_view name, std::optional<Value> (*parse)(std::string_view),
                            std::initializer_list<std::string_view> words) {
    const auto given = value(name);
    if (!given) return std::nullopt;
    const auto parsed = parse(*given);
    if (!parsed) refuse_word(name, *given, words);
    return parsed;
  }
  // Of a list: how many items at most.
  int64_t limit() { return number("limit", 1, kMostItems, 50); }

  // More than a single parameter tells.
  void refuse(std::string problem);
  bool is_right() const { return problem_.empty(); }
  // What is wrong; a sentence that names the parameter.
  const std::string& problem() const { return problem_; }

  static constexpr size_t kMostText = 200;  // bytes
  static constexpr int64_t kMostItems = 200;

 private:
  std::optional<std::string_view> value(std::string_view name) const;
  void refuse_word(std::string_view name, std::string_view given, std::initializer_list<std::string_view> words);

  const Request& request_;
  std::string problem_;
};

}  // namespace girdle::api
