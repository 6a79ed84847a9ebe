#include "api/session_text.h"

#include <simdjson.h>

#include "base/json.h"
#include "base/time.h"
#include "model/words.h"

namespace girdle::api {

std::string session_text(const Caller& caller, bool signed_in, const House& house, base::Instant now) {
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().member("role", text(caller.role)).member_or_null("token", caller.token);
  json.member("site", house.site).member("timezone", house.timezone).member("language", house.language);
  json.member("version", house.version).member("notice", model::kNotice).member("now", base::format_rfc3339(now));
  json.member("signed_in", signed_in).end_object();
  return out;
}

base::Result<std::string> token_of(std::string_view body) {
  static constexpr const char* kShape = "the body is one JSON object with the member \"token\"";
  simdjson::dom::parser parser;
  simdjson::dom::object object;
  if (parser.parse(body.data(), body.size()).get(object) != simdjson::SUCCESS) return base::call_error(kShape);
  std::string_view token;
  bool found = false;
  for (const auto& [name, value] : object) {
    if (name != "token" || found) return base::call_error(std::string(kShape) + ", once, and no other");
    found = true;
    if (value.get(token) != simdjson::SUCCESS || token.empty()) {
      return base::call_error("the member \"token\" is a text: `gt_` and what follows it, as it was shown");
    }
  }
  if (!found) return base::call_error(kShape);
  return std::string(token);
}

}  // namespace girdle::api
