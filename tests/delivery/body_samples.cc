// Prints messages of bodies of one's own and what they were made from, one JSON object a line, for
// a check by readers that are not ours (own_bodies_test.py): {"kind", "name", "rows": [[text or
// null, …], …], "refused": [place, …], "request"}.
#include <cstdlib>
#include <iostream>

#include "base/json.h"
#include "delivery/outlet_parts.h"
#include "delivery/sample_outcomes.h"
#include "delivery/webhook_request.h"

namespace girdle::delivery {
namespace {

using Kind = config::Body::Kind;

// What shops, scanners and people who mean ill write into texts.
const std::string kTexts[] = {"R1042",
                              "0042",
                              " leading and trailing ",
                              "a,b;c|d\te",
                              "\"quoted\"",
                              "it's",
                              "line\nfeed",
                              "carriage\rreturn",
                              "a\r\nx-evil: 1\r\n\r\n<html>",
                              "=1+1",
                              "@SUM(A1)",
                              "-7",
                              "+49",
                              "<a href=\"x\">&amp;</a>",
                              "]]>",
                              "&b=c",
                              "%0d%0a",
                              "100 %",
                              "../../admin",
                              "\\u0041\\",
                              "{\"a\":1}",
                              "\xC3\xA9t\xC3\xA9",
                              "\xE2\x82\xAC 1.250,00",
                              "\xE2\x80\xA8\xE2\x80\xA9\xC2\x85",
                              "\xF0\x9F\x92\x8E",
                              "\xEF\xBB\xBF"
                              "bom",
                              "\xE2\x80\xAE"
                              "right to left",
                              "\x7f",
                              std::string("nul\0nul", 7),
                              "\x01\x1d\x1f",
                              "\xEF\xBF\xBF"};
const char* const kNames[] = {"sku", "place", "note", "carat"};

std::vector<config::Leaf> leaves() {
  return {from("/data/subject/stock_number"), from("/data/subject/position"),
          from("/data/reasons/0/text"), from("/data/declared/carat")};
}

model::Delivery delivery_of(const std::string& text, int64_t number) {
  model::Delivery delivery = sample_delivery(number, number, 1);
  delivery.outcome.stock_number = text;
  if (number % 2 == 0) delivery.outcome.position = text;
  delivery.outcome.reasons.front().text = text;
  if (number % 3 == 0) {
    delivery.outcome.declared.emplace();
    delivery.outcome.declared->carat = base::Decimal::parse("0.53");
  }
  return delivery;
}

config::Outlet outlet_of(Kind kind, int count) {
  std::vector<std::pair<std::string, config::Leaf>> named;
  std::vector<std::pair<std::string, config::Tree>> members;
  const auto all = leaves();
  for (size_t i = 0; i < all.size(); ++i) {
    named.emplace_back(kNames[i], all[i]);
    members.emplace_back(kNames[i], tree(all[i]));
  }
  config::Outlet outlet = outlet_of_fields(kind, fields(named));
  if (kind == Kind::kXml) {
    members[1].first = "@place";
    outlet.body.tree = object({{"screening", object(members)}});
  } else {
    outlet.body.tree = object(members);
  }
  outlet.batch.count = count;
  return outlet;
}

void print(const char* kind, const std::string& name, const config::Outlet& outlet,
           const std::vector<model::Delivery>& deliveries) {
  Reported reported;
  const Url url = parse_url("https://till.example/stock").value();
  const auto request =
      WebhookRequest::create(url, outlet, base::Zone::utc(), std::nullopt, reported.report());
  if (!request) {
    std::cerr << reported.text();
    std::exit(1);
  }
  std::string buffer, line;
  WebhookRequest::Unwritable unwritable;
  const auto bytes =
      request->write(buffer, deliveries, "", base::from_millis(1793614530000), unwritable);
  base::JsonWriter json(line);
  const auto text_or_null = [&](const std::string& text) {
    text.empty() ? json.null() : json.text(text);
  };
  json.begin_object()
      .member("kind", kind)
      .member("name", std::string_view(name))
      .key("rows")
      .begin_array();
  for (const model::Delivery& delivery : deliveries) {
    const model::Outcome& outcome = delivery.outcome;
    json.begin_array().text(outcome.stock_number);
    text_or_null(outcome.position);
    json.text(outcome.reasons.front().text);
    text_or_null(outcome.declared ? outcome.declared->carat->text() : "");
    json.end_array();
  }
  json.end_array().key("refused").begin_array();
  for (const auto& [place, why] : unwritable) json.number(static_cast<int64_t>(place));
  json.end_array().key("request");
  bytes ? json.text(*bytes) : json.null();
  json.end_object();
  std::cout << line << "\n";
}

void print_all() {
  std::vector<model::Delivery> all;
  for (const std::string& text : kTexts)
    all.push_back(delivery_of(text, static_cast<int64_t>(all.size()) + 1));
  for (const auto& [kind, name] : {std::pair(Kind::kJson, "json"), std::pair(Kind::kXml, "xml"),
                                   std::pair(Kind::kForm, "form"), std::pair(Kind::kCsv, "csv")}) {
    for (const model::Delivery& one : all) print(name, "one", outlet_of(kind, 1), {one});
    if (kind != Kind::kForm) print(name, "batch", outlet_of(kind, 100), all);
  }
  config::Outlet semicolons = outlet_of(Kind::kCsv, 100);
  semicolons.body.delimiter = ';';
  print("csv;", "batch", semicolons, all);
  for (const model::Delivery& one : all) {
    config::Outlet query = outlet_of(Kind::kJson, 1), path = query, headers = query;
    query.webhook.request.query = query.body.fields;
    path.webhook.request.path = {leaves().front()};
    headers.webhook.request.headers = query.body.fields;
    print("query", "one", query, {one});
    print("path", "one", path, {one});
    print("headers", "one", headers, {one});
  }
}

}  // namespace
}  // namespace girdle::delivery

int main() { girdle::delivery::print_all(); }
