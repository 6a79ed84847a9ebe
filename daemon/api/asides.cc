// What was set aside: with its bytes, its reason, and by cause.
#include <algorithm>
#include <functional>
#include <map>
#include <span>

#include "api/cause.h"
#include "api/identifier.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"
#include "base/time.h"
#include "delivery/base64.h"

namespace girdle::api {
namespace {

using ledger::AsideRow;

constexpr char kList = 'a';
constexpr size_t kMostListed = 4096;                    // bytes of one, in a list; alone it is whole
constexpr int64_t kMostGrouped = 5000;                  // rows that are looked at for their causes,
constexpr size_t kMostGroupedBytes = size_t{16} << 20;  // or bytes,
constexpr size_t kMostCauses = 200;                     // or causes

// Not in the middle of a character, where it is UTF-8.
std::string_view beginning_of(std::string_view bytes, size_t most) {
  if (bytes.size() <= most) return bytes;
  size_t end = most;
  while (end > most - 4 && (static_cast<unsigned char>(bytes[end]) & 0xC0) == 0x80) --end;
  return bytes.substr(0, end);
}

std::string base64(std::string_view bytes) {
  std::string text;
  delivery::append_base64(text, std::span(reinterpret_cast<const uint8_t*>(bytes.data()), bytes.size()));
  return text;
}

void write_aside(base::JsonWriter& json, const AsideRow& row, size_t most) {
  const model::Aside& aside = row.aside;
  const std::string_view bytes = beginning_of(aside.bytes, most);
  json.begin_object().member("id", row.id).member("intake", std::string_view(row.intake));
  json.member("document", std::string_view(row.document)).member("at", std::string_view(base::format_rfc3339(row.at)));
  json.key("line");
  if (aside.place.line == 0) {
    json.null();
  } else {
    json.number(aside.place.line);
  }
  json.member("offset", static_cast<int64_t>(aside.place.offset))
      .member("length", static_cast<int64_t>(aside.place.length));
  json.member("reason", std::string_view(aside.reason)).member("cause", std::string_view(cause_of(aside.reason)));
  json.member("text", bytes).member("base64", std::string_view(base64(bytes)));
  json.member("truncated", aside.truncated || bytes.size() < aside.bytes.size());
  time_member(json, "settled_at", row.settled_at);
  json.member("can_try_again", row.is_kept).end_object();
}

// Of one intake and cause.
struct Group {
  int64_t count = 0;
  base::Instant first_at{}, last_at{};
  AsideRow example;  // the newest
};
using Groups = std::map<std::pair<std::string, std::string>, Group>;

// The newest first. False: there was no room for one more group.
bool add_to(Groups& groups, const AsideRow& row) {
  std::pair key(row.intake, cause_of(row.aside.reason));
  auto at = groups.find(key);
  if (at == groups.end()) {
    if (groups.size() == kMostCauses) return false;
    at = groups.emplace(std::move(key), Group{0, row.at, row.at, row}).first;
  }
  Group& group = at->second;
  ++group.count;
  group.first_at = std::min(group.first_at, row.at);
  group.last_at = std::max(group.last_at, row.at);
  return true;
}

// False: not all of what is open was looked at.
base::Result<bool> gather(ledger::Ledger& ledger, const ledger::Filter& filter, Groups& groups) {
  constexpr int64_t kStep = 250;
  ledger::Page page;
  page.limit = kStep;
  page.most_looked = kStep;
  size_t bytes = 0;
  bool of_all = true;
  for (int64_t looked = 0; looked < kMostGrouped && bytes < kMostGroupedBytes; looked += kStep) {
    const auto next = ledger.page_of_asides(filter, page, [&](const AsideRow& row) {
      bytes += row.aside.bytes.size();
      of_all = add_to(groups, row) && of_all;
      return true;
    });
    if (!next) return next.error();
    if (!*next) return of_all;
    page.after = **next;
  }
  return false;
}

void write_group(base::JsonWriter& json, const std::string& cause, const Group& group) {
  json.begin_object().member("intake", std::string_view(group.example.intake)).member("cause", std::string_view(cause));
  json.member("count", group.count).member("first_at", std::string_view(base::format_rfc3339(group.first_at)));
  json.member("last_at", std::string_view(base::format_rfc3339(group.last_at))).key("example");
  write_aside(json, group.example, kMostListed);
  json.end_object();
}

}  // namespace

Response list_asides(const Call& call, Teller& teller) {
  constexpr size_t kMostCause = 2000;
  Query query(call.request, {"intake", "cause", "all", "limit", "cursor"});
  ledger::Filter filter;
  filter.intake = query.text("intake");
  filter.open = !query.flag("all");
  const std::string cause = query.text("cause", kMostCause);
  const ledger::Page page = page_of(query, call.request, kList);
  if (!query.is_right()) return problem(400, query.problem());
  ListWriter list;
  const auto next = teller.ledger().page_of_asides(filter, page, [&](const AsideRow& row) {
    const bool wanted = cause.empty() || cause_of(row.aside.reason) == cause;
    if (wanted) write_aside(list.item(), row, kMostListed);
    return wanted;
  });
  if (!next) return problem(next.error());
  return list.finish(kList, *next);
}

Response show_aside(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto number = number_of(call.parts[0]);
  if (!number) return no_such("record that was set aside,", call.parts[0], "/api/v1/aside");
  const auto row = teller.ledger().aside(*number);
  if (!row) return problem(row.error());
  if (!*row) return no_such("record that was set aside,", call.parts[0], "/api/v1/aside");
  Response response;
  base::JsonWriter json(response.body);
  write_aside(json, **row, (*row)->aside.bytes.size());
  return response;
}

Response list_aside_causes(const Call& call, Teller& teller) {
  Query query(call.request, {"intake"});
  ledger::Filter filter;
  filter.intake = query.text("intake");
  filter.open = true;
  if (!query.is_right()) return problem(400, query.problem());
  Groups groups;
  const auto of_all = gather(teller.ledger(), filter, groups);
  if (!of_all) return problem(of_all.error());

  std::vector<const Groups::value_type*> sorted;
  for (const auto& group : groups) sorted.push_back(&group);
  std::ranges::stable_sort(sorted, std::greater(), [](const auto* group) { return group->second.count; });
  Response response;
  base::JsonWriter json(response.body);
  json.begin_object().key("items").begin_array();
  for (const auto* group : sorted) write_group(json, group->first.second, group->second);
  json.end_array().key("next").null().member("of_all", *of_all).end_object();
  return response;
}

}  // namespace girdle::api
