// The body of a request: one JSON object (RFC 8259), read strictly. Refused by the member's name, with what would be
// right.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "api/desk.h"
#include "api/message.h"
#include "base/clock.h"
#include "model/words.h"

namespace girdle::api {

// Reads members one by one, as Query reads parameters: the first thing that is wrong is kept, and all after it reads as
// not given.
class Body {
 public:
  // `members`: what this route takes, needed or not.
  Body(const Request& request, std::initializer_list<std::string_view> members);
  ~Body();

  // Needed: visible text (plain_text.h) of 1 to `most` bytes.
  std::string text(std::string_view name, size_t most);
  // The same, where it may be left out; empty then.
  std::string text_if_any(std::string_view name, size_t most);
  // Needed: a whole number from `low` to `high`.
  int64_t number(std::string_view name, int64_t low, int64_t high);
  // Needed: a list of 1 to `most` numbers from 1 to kMostNumber, each once.
  std::vector<int64_t> numbers(std::string_view name, size_t most);
  bool flag_if_any(std::string_view name);
  std::optional<base::Instant> time_if_any(std::string_view name);  // RFC 3339
  model::Disposition disposition(std::string_view name);            // needed
  // Members `who` and `why`, both needed.
  By by();

  // More than the members tell.
  void refuse(std::string problem);
  bool is_right() const { return problem_.empty(); }
  const std::string& problem() const { return problem_; }
  // 400, or 415 where the body says that it is something else than JSON.
  Response refusal() const;

  static constexpr int64_t kMostNumber =
      9'007'199'254'740'991;                       // that everybody's JSON keeps exact (RFC 8259 section 6)
  static constexpr size_t kMostStockNumber = 200;  // bytes; as much as a mapping takes

 private:
  struct Parsed;
  void read(const Request& request, const std::vector<std::string_view>& known);
  bool has(std::string_view name);  // and is right so far
  void need(std::string_view name);
  bool has_needed(std::string_view name);

  std::string token_;
  int status_ = 400;
  std::string problem_;
  std::unique_ptr<Parsed> parsed_;
};

}  // namespace girdle::api
