#include "api/query.h"

#include <algorithm>
#include <charconv>
#include <vector>

#include "api/plain_text.h"
#include "base/time.h"

namespace girdle::api {
namespace {

std::string unknown_text(std::string_view name, std::initializer_list<std::string_view> known) {
  const std::string what = "there is no parameter " + base::in_quotes(name) + " here; ";
  if (known.size() == 0) return what + "this address takes none";
  const std::vector<std::string_view> words(known);
  const std::string_view near = base::nearest(name, words);
  return what + (near.empty() ? "" : "did you mean " + std::string(near) + "? ") + "It takes " + base::listed(words);
}

}  // namespace

Query::Query(const Request& request, std::initializer_list<std::string_view> known) : request_(request) {
  for (auto one = request.query.begin(); one != request.query.end(); ++one) {
    const auto same = [&](const auto& other) { return other.first == one->first; };
    if (std::ranges::find(known, one->first) == known.end()) {
      refuse(unknown_text(one->first, known));
    } else if (std::any_of(request.query.begin(), one, same)) {
      refuse(one->first + " is given twice; once is enough");
    }
  }
}

std::string Query::text(std::string_view name, size_t most) {
  const auto given = value(name);
  if (!given) return {};
  if (const auto wrong = wrong_with_text(*given, most)) {
    refuse(std::string(name) + ": " + *wrong);
    return {};
  }
  return std::string(*given);
}

std::optional<base::Instant> Query::time(std::string_view name) {
  const auto given = value(name);
  if (!given) return std::nullopt;
  const auto parsed = base::parse_rfc3339(*given);
  if (!parsed) refuse(wrong_time_text(name, *given));
  return parsed;
}

bool Query::flag(std::string_view name) {
  const auto given = value(name);
  if (given && *given != "true") refuse_word(name, *given, {"true"});
  return is_right() && given.has_value();
}

int64_t Query::number(std::string_view name, int64_t low, int64_t high, int64_t otherwise) {
  const auto given = value(name);
  if (!given) return otherwise;
  int64_t number = 0;
  const auto [end, error] = std::from_chars(given->data(), given->data() + given->size(), number);
  const bool whole = error == std::errc() && end == given->data() + given->size();
  if (whole && number >= low && number <= high) return number;
  refuse(std::string(name) + " is " + base::in_quotes(*given) + "; it is a whole number from " + std::to_string(low) +
         " to " + std::to_string(high));
  return otherwise;
}

std::optional<std::string_view> Query::value(std::string_view name) const {
  if (!is_right()) return std::nullopt;
  const auto at =
      std::ranges::find(request_.query, name, [](const auto& one) -> std::string_view { return one.first; });
  if (at == request_.query.end()) return std::nullopt;
  return at->second;
}

void Query::refuse(std::string problem) {
  if (problem_.empty()) problem_ = std::move(problem);
}

void Query::refuse_word(std::string_view name, std::string_view given, std::initializer_list<std::string_view> words) {
  refuse(std::string(name) + " is " + base::in_quotes(given) + "; it is " +
         base::listed(std::vector<std::string_view>(words), "or"));
}

}  // namespace girdle::api
