#include "delivery/token_answer.h"

#include <simdjson.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "base/text.h"
#include "delivery/answer_reading.h"

namespace girdle::delivery {
namespace {

using simdjson::dom::object;

constexpr size_t kLongestToken = 8
                                 << 10;  // a header of the request, and many receivers take no more
constexpr size_t kLongestCode = 60, kLongestDescription = 250;
constexpr int64_t kLongestLife = 365 * 24 * 3600;  // seconds

std::string_view text_member(const object& answer, std::string_view name) {
  std::string_view text;
  if (answer.at_key(name).get(text)) return {};
  return text;
}

bool is_bearer(std::string_view type) {
  static constexpr std::string_view kBearer = "bearer";  // RFC 6749 7.1: in any case
  return std::equal(type.begin(), type.end(), kBearer.begin(), kBearer.end(),
                    [](char a, char b) { return (a | 0x20) == b; });
}

// `expires_in` is a number; some endpoints write it as a text of digits (common practice, no
// source).
std::optional<std::chrono::seconds> life_of(const object& answer) {
  double seconds = 0;
  std::string_view text;
  int64_t whole = 0;
  if (!answer.at_key("expires_in").get(text)) {
    const auto read = std::from_chars(text.data(), text.data() + text.size(), whole);
    if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return std::nullopt;
    seconds = static_cast<double>(whole);
  } else if (answer.at_key("expires_in").get(seconds)) {
    return std::nullopt;
  }
  return std::chrono::seconds(
      static_cast<int64_t>(std::clamp(seconds, 0.0, static_cast<double>(kLongestLife))));
}

base::Error refusal(const Answer& answer, const object* json, const Blanks& secrets) {
  std::string text = "it answers " + std::to_string(answer.status);
  if (json == nullptr) return base::environment_error(std::move(text));
  const std::string code = printable(secrets(text_member(*json, "error")), kLongestCode);
  const std::string why =
      printable(secrets(text_member(*json, "error_description")), kLongestDescription);
  if (!code.empty()) text += ", " + code;
  if (!why.empty()) text += ": " + why;
  if (code == "invalid_client") {
    text += " (it does not take this client_id with this client_secret)";
  }
  return base::environment_error(std::move(text));
}

base::Result<Token> token_of(const object& answer, const Blanks& secrets) {
  Token token;
  token.text = text_member(answer, "access_token");
  if (token.text.empty()) return base::environment_error("its answer has no access_token");
  if (token.text.size() > kLongestToken) {
    return base::environment_error("its access_token is longer than 8 KiB");
  }
  if (!std::ranges::all_of(token.text, base::is_visible)) {
    return base::environment_error("its access_token has characters that cannot stand in a header");
  }
  const std::string_view type = text_member(answer, "token_type");
  if (!is_bearer(type)) {
    return base::environment_error("its token_type is " +
                                   base::in_quotes(printable(secrets(type), 40)) +
                                   ", and only Bearer is understood");
  }
  token.lives = life_of(answer);
  return token;
}

}  // namespace

base::Result<Token> read_token(const Answer& answer, const Blanks& secrets) {
  simdjson::dom::parser parser(AnswerParser::kMostOfBody);
  object json;
  const bool is_json = !parser.parse(answer.body.data(), answer.body.size()).get(json);
  if (answer.status < 200 || answer.status > 299) {
    return refusal(answer, is_json ? &json : nullptr, secrets);
  }
  if (is_json) return token_of(json, secrets);
  if (answer.body.size() >= AnswerParser::kMostOfBody) {
    return base::environment_error("its answer is longer than 64 KiB");
  }
  return base::environment_error("its answer is no JSON object; is this the token endpoint?");
}

}  // namespace girdle::delivery
