#include "api/body.h"

#include <simdjson.h>

#include <algorithm>

#include "api/plain_text.h"
#include "api/problem.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::api {
namespace {

using simdjson::dom::element;
using simdjson::dom::element_type;

constexpr size_t kMostDepth = 8;  // far more than any body has
constexpr size_t kMostWho = 100, kMostWhy = 500;

constexpr std::string_view kDispositions[] = {"repeat", "release", "hold", "refer", "reject"};

std::string_view kind_of(element value) {
  switch (value.type()) {
    case element_type::OBJECT: return "an object";
    case element_type::ARRAY: return "a list";
    case element_type::STRING: return "a text";
    case element_type::BOOL: return "true or false";
    case element_type::NULL_VALUE: return "null";
    case element_type::INT64:
    case element_type::UINT64:
    case element_type::DOUBLE: return "a number";
  }
  return {};
}

std::string wrong_kind(std::string_view name, element value, std::string_view right) {
  return std::string(name) + " is " + std::string(kind_of(value)) + "; it is to be " + std::string(right);
}

std::string unknown_text(std::string_view name, const std::vector<std::string_view>& members) {
  const std::string what = "there is no member " + base::in_quotes(name) + " here; ";
  if (members.empty()) return what + "the body is {}";
  const std::string_view near = base::nearest(name, members);
  return what + (near.empty() ? "" : "did you mean " + std::string(near) + "? ") + "The body takes " +
         base::listed(members);
}

std::string numbers_text(std::string_view name, std::string_view what, size_t most) {
  return std::string(name) + ' ' + std::string(what) + "; it is to be a list of 1 to " + std::to_string(most) +
         " numbers, each from 1 on and once";
}

}  // namespace

struct Body::Parsed {
  simdjson::dom::parser parser;
  std::map<std::string, element, std::less<>> members;
};

Body::Body(const Request& request, std::initializer_list<std::string_view> members)
    : token_(request.caller.token), parsed_(std::make_unique<Parsed>()) {
  read(request, std::vector<std::string_view>(members));
}

void Body::read(const Request& request, const std::vector<std::string_view>& known) {
  if (request.content_type != "application/json") {
    status_ = 415;
    return refuse("the body is " +
                  (request.content_type.empty() ? "of no kind" : base::in_quotes(request.content_type)) +
                  "; Content-Type: application/json is taken here");
  }
  element root;
  if (parsed_->parser.allocate(request.body.size(), kMostDepth) != simdjson::SUCCESS)
    return refuse("the body is too long");
  if (const auto error = parsed_->parser.parse(request.body.data(), request.body.size()).get(root);
      error != simdjson::SUCCESS) {
    return refuse(std::string("the body is no JSON: ") + simdjson::error_message(error));
  }
  simdjson::dom::object object;
  if (root.get(object) != simdjson::SUCCESS)
    return refuse("the body is " + std::string(kind_of(root)) + "; it is to be one JSON object");
  for (const auto& [name, value] : object) {
    if (std::ranges::find(known, name) == known.end()) return refuse(unknown_text(name, known));
    if (!parsed_->members.emplace(name, value).second)
      return refuse(std::string(name) + " comes twice; once is enough");
  }
}

Body::~Body() = default;

std::string Body::text(std::string_view name, size_t most) {
  need(name);
  return text_if_any(name, most);
}

std::string Body::text_if_any(std::string_view name, size_t most) {
  if (!has(name)) return {};
  const element value = parsed_->members.find(name)->second;
  std::string_view text;
  if (value.get(text) != simdjson::SUCCESS) {
    refuse(wrong_kind(name, value, "a text"));
  } else if (const auto wrong = wrong_with_text(text, most)) {
    refuse(std::string(name) + ": " + *wrong);
  }
  return is_right() ? std::string(text) : std::string();
}

int64_t Body::number(std::string_view name, int64_t low, int64_t high) {
  if (!has_needed(name)) return 0;
  const element value = parsed_->members.find(name)->second;
  int64_t number = 0;
  if (value.get(number) == simdjson::SUCCESS && number >= low && number <= high) return number;
  const std::string right = "a whole number from " + std::to_string(low) + " to " + std::to_string(high);
  refuse(value.is_number() ? std::string(name) + " is to be " + right : wrong_kind(name, value, right));
  return 0;
}

std::vector<int64_t> Body::numbers(std::string_view name, size_t most) {
  if (!has_needed(name)) return {};
  const element value = parsed_->members.find(name)->second;
  simdjson::dom::array array;
  if (value.get(array) != simdjson::SUCCESS) {
    refuse(numbers_text(name, "is " + std::string(kind_of(value)), most));
    return {};
  }
  std::vector<int64_t> numbers;
  for (const element item : array) {
    int64_t number = 0;
    if (item.get(number) != simdjson::SUCCESS || number < 1 || number > kMostNumber) {
      refuse(numbers_text(name, "holds something else", most));
      return {};
    }
    numbers.push_back(number);
  }
  if (numbers.empty() || numbers.size() > most) {
    refuse(numbers_text(name, "has " + base::counted(numbers.size(), "number"), most));
    return {};
  }
  std::vector<int64_t> sorted = numbers;
  std::ranges::sort(sorted);
  if (std::ranges::adjacent_find(sorted) != sorted.end()) refuse(numbers_text(name, "holds one twice", most));
  return numbers;
}

bool Body::flag_if_any(std::string_view name) {
  if (!has(name)) return false;
  const element value = parsed_->members.find(name)->second;
  bool flag = false;
  if (value.get(flag) != simdjson::SUCCESS) refuse(wrong_kind(name, value, "true or false"));
  return flag;
}

std::optional<base::Instant> Body::time_if_any(std::string_view name) {
  if (!has(name)) return std::nullopt;
  const element value = parsed_->members.find(name)->second;
  std::string_view text;
  if (value.get(text) != simdjson::SUCCESS) {
    refuse(wrong_kind(name, value, "a time, such as \"2026-11-02T10:15:30Z\""));
    return std::nullopt;
  }
  const auto parsed = base::parse_rfc3339(text);
  if (!parsed) refuse(wrong_time_text(name, text));
  return parsed;
}

model::Disposition Body::disposition(std::string_view name) {
  if (!has_needed(name)) return model::Disposition::kHold;
  const element value = parsed_->members.find(name)->second;
  const std::string right = base::listed(kDispositions, "or");
  std::string_view word;
  if (value.get(word) != simdjson::SUCCESS) {
    refuse(wrong_kind(name, value, right));
    return model::Disposition::kHold;
  }
  const auto known = model::disposition_of(word);
  if (!known) refuse(std::string(name) + " is " + base::in_quotes(word) + "; it is to be " + right);
  return known.value_or(model::Disposition::kHold);
}

By Body::by() {
  By by;
  by.who = text("who", kMostWho);
  by.why = text("why", kMostWhy);
  by.token = token_;
  return by;
}

void Body::refuse(std::string problem) {
  if (problem_.empty()) problem_ = std::move(problem);
}

Response Body::refusal() const { return api::problem(status_, problem_); }

bool Body::has(std::string_view name) { return is_right() && parsed_->members.contains(name); }

void Body::need(std::string_view name) {
  if (!parsed_->members.contains(name)) refuse(std::string(name) + " is missing");
}

bool Body::has_needed(std::string_view name) {
  need(name);
  return has(name);
}

}  // namespace girdle::api
