// An attempt at a delivery, member by member.
#pragma once

#include <string_view>

#include "base/json.h"
#include "base/time.h"
#include "ledger/ledger.h"

namespace girdle::api {

// A member that is an HTTP status, or null where none came.
inline void status_member(base::JsonWriter& json, int status) {
  json.key("status");
  if (status == 0) {
    json.null();
  } else {
    json.number(status);
  }
}

inline void write_attempt_members(base::JsonWriter& json, const ledger::AttemptRow& attempt) {
  json.member("at", std::string_view(base::format_rfc3339(attempt.at))).member("took_ms", attempt.took.count());
  status_member(json, attempt.status);
  json.member_or_null("note", attempt.note).member_or_null("answer", attempt.answer);
}

}  // namespace girdle::api
