// What the routes answer in the shop of shop.h: requests as JSON lines on standard input, answers as JSON lines on
// standard output. For tests/npm/check_openapi.mjs.
//   {"method":"GET","path":["api","v1","cases"],"query":[["q","R10"]],"content_type":"","body":""}
//   {"status":200,"content_type":"application/json","body":"…"}
// Status 0: the server answers that itself.
#include <simdjson.h>

#include <cstdlib>
#include <iostream>

#include "api/metrics.h"
#include "api/shop.h"
#include "base/json.h"

namespace girdle::api {
namespace {

using simdjson::dom::element;

Method method_of(std::string_view word) {
  for (const Method method : {Method::kGet, Method::kPost, Method::kDelete}) {
    if (text(method) == word) return method;
  }
  std::cerr << "no such method: " << word << '\n';
  std::exit(2);
}

Request request_of(element line) {
  Request request;
  request.method = method_of(std::string_view(line["method"]));
  for (const element segment : simdjson::dom::array(line["path"])) request.path.emplace_back(std::string_view(segment));
  for (const element pair : simdjson::dom::array(line["query"])) {
    request.query.emplace_back(std::string_view(pair.at(0)), std::string_view(pair.at(1)));
  }
  request.content_type = std::string_view(line["content_type"]);
  request.body = std::string_view(line["body"]);
  request.caller = {Role::kAdmin, "kim"};
  return request;
}

Response answer_of(Shop& shop, const Request& request) {
  Response response = shop.ask(request);
  if (response.status != 0 || request.path.front() != "health") return response;
  if (request.path.back() == "live") return live();
  shop.desk().standing(
      [&](const Standing& standing) { response = ready(*shop.desk().house(), standing, shop.teller()); });
  return response;
}

void answer_all() {
  Shop shop;
  simdjson::dom::parser parser;
  for (std::string line; std::getline(std::cin, line);) {
    const Response response = answer_of(shop, request_of(parser.parse(line)));
    std::string out;
    base::JsonWriter json(out);
    json.begin_object().member("status", int64_t{response.status});
    json.member("content_type", std::string_view(response.content_type)).member("body", response.bytes()).end_object();
    std::cout << out << '\n';
  }
}

}  // namespace
}  // namespace girdle::api

int main() { girdle::api::answer_all(); }
