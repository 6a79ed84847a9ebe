#include "api/list.h"

#include <charconv>

#include "base/digest.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::api {
namespace {

// Takes what stands before the next dot, and the dot.
std::string_view next_part(std::string_view& text) {
  const size_t dot = text.find('.');
  const std::string_view part = text.substr(0, dot);
  text.remove_prefix(dot == std::string_view::npos ? text.size() : dot + 1);
  return part;
}

bool read_number(std::string_view text, int64_t& number) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  return error == std::errc() && end == text.data() + text.size();
}

bool read_hex(std::string_view text, std::string& out) {
  if (text.size() % 2 != 0) return false;
  for (size_t i = 0; i < text.size(); i += 2) {
    unsigned byte = 0;
    const auto [end, error] = std::from_chars(text.data() + i, text.data() + i + 2, byte, 16);
    if (error != std::errc() || end != text.data() + i + 2) return false;
    out += static_cast<char>(byte);
  }
  return true;
}

}  // namespace

std::string cursor_text(char list, const ledger::Cursor& cursor) {
  return list + ('.' + std::to_string(cursor.at)) + '.' + std::to_string(cursor.number) + '.' + base::hex(cursor.key);
}

std::optional<ledger::Cursor> cursor_of(char list, std::string_view text) {
  ledger::Cursor cursor;
  std::string_view rest = text;
  if (next_part(rest) != std::string_view(&list, 1)) return std::nullopt;
  if (!read_number(next_part(rest), cursor.at) || !read_number(next_part(rest), cursor.number)) return std::nullopt;
  if (!read_hex(next_part(rest), cursor.key) || !base::is_utf8(cursor.key)) return std::nullopt;
  if (cursor_text(list, cursor) != text) return std::nullopt;  // there is one way to write it
  return cursor;
}

std::string prefix_of(Query& query, std::string_view name) {
  std::string prefix = query.text(name);
  if (!prefix.empty()) prefix += '*';
  return prefix;
}

void read_span(Query& query, ledger::Filter& filter) {
  filter.since = query.time("since").value_or(filter.since);
  filter.until = query.time("until").value_or(filter.until);
}

ledger::Page page_of(Query& query, const Request& request, char list) {
  constexpr size_t kMostCursor = 2000;
  ledger::Page page;
  page.limit = query.limit();
  const std::string given = query.text("cursor", kMostCursor);
  if (given.empty()) return page;
  if (const auto cursor = cursor_of(list, given)) {
    page.after = *cursor;
  } else {
    query.refuse("cursor is " + base::in_quotes(given) + "; it is to be  next  of an answer of " +
                 (request.path.empty() ? std::string("this list") : "the list " + request.path.back()) +
                 ", as it stood there");
  }
  return page;
}

Response ListWriter::finish(char list, const ledger::Next& next) {
  json_.end_array();
  json_.member_or_null("next", next ? cursor_text(list, *next) : std::string());
  json_.end_object();
  Response response;
  response.body = std::move(body_);
  return response;
}

void time_member(base::JsonWriter& json, std::string_view name, const std::optional<base::Instant>& time) {
  json.member_or_null(name, time ? base::format_rfc3339(*time) : std::string());
}

}  // namespace girdle::api
