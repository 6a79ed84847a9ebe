// Bodies and queries of any bytes, from a zero byte on the query: each ends in values that are right, or in a sentence.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "api/body.h"
#include "api/list.h"
#include "api/plain_text.h"
#include "base/text.h"
#include "model/words.h"

namespace {

using namespace girdle;

void check(bool holds) {
  if (!holds) std::abort();
}

bool is_plain(const std::string& text, size_t most) { return text.empty() || !api::wrong_with_text(text, most); }

void read_body(std::string_view bytes) {
  api::Request request;
  request.content_type = "application/json";
  request.body = bytes;
  api::Body body(request,
                 {"who", "why", "stock_number", "position", "sequence", "ids", "disposition", "parked", "since"});
  const std::string position = body.text_if_any("position", 200);
  const bool parked = body.flag_if_any("parked");
  const auto since = body.time_if_any("since");
  const api::By by = body.by();
  const std::string stock = body.text("stock_number", 200);
  const int64_t sequence = body.number("sequence", 1, 1000);
  const auto ids = body.numbers("ids", 1000);
  body.disposition("disposition");
  check(is_plain(by.who, 100) && is_plain(by.why, 500) && is_plain(stock, 200) && is_plain(position, 200));
  check(ids.size() <= 1000);
  if (body.is_right()) {
    check(!by.who.empty() && !by.why.empty() && !stock.empty() && sequence >= 1 && sequence <= 1000 && !ids.empty());
  } else {
    check(base::is_utf8(body.refusal().body) && body.refusal().status == 400);
    check(body.number("sequence", 1, 1000) == 0 && !body.flag_if_any("parked"));
  }
  (void)parked;
  (void)since;
}

void read_query(std::string_view bytes) {
  api::Request request;
  while (!bytes.empty()) {
    const std::string_view one = bytes.substr(0, bytes.find('&'));
    bytes.remove_prefix(std::min(bytes.size(), one.size() + 1));
    const size_t equals = std::min(one.find('='), one.size());
    request.query.emplace_back(one.substr(0, equals), one.substr(std::min(equals + 1, one.size())));
  }
  api::Query query(request, {"q", "since", "until", "state", "all", "limit", "cursor"});
  ledger::Filter filter;
  filter.stock_number = api::prefix_of(query, "q");
  api::read_span(query, filter);
  query.flag("all");
  query.word<model::DeliveryState>("state", model::delivery_state_of, {"waiting"});
  const ledger::Page page = api::page_of(query, request, 'c');
  check(page.limit >= 1 && page.limit <= 200);
  check(filter.stock_number.empty() || is_plain(filter.stock_number, 201));
  if (query.is_right() && !request.query_value("cursor").empty()) {
    check(api::cursor_text('c', page.after) == request.query_value("cursor"));
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const size_t zero = std::min(bytes.find('\0'), bytes.size());
  read_body(bytes.substr(0, zero));
  read_query(bytes.substr(std::min(zero + 1, bytes.size())));
  return 0;
}
