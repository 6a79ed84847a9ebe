#include "api/problem.h"

#include "base/json.h"

namespace girdle::api {

std::string_view reason_phrase(int status) {
  switch (status) {
    case 200: return "OK";
    case 201: return "Created";
    case 204: return "No Content";
    case 304: return "Not Modified";
    case 400: return "Bad Request";
    case 401: return "Unauthorized";
    case 403: return "Forbidden";
    case 404: return "Not Found";
    case 405: return "Method Not Allowed";
    case 408: return "Request Timeout";
    case 409: return "Conflict";
    case 411: return "Length Required";
    case 413: return "Content Too Large";
    case 414: return "URI Too Long";
    case 415: return "Unsupported Media Type";
    case 417: return "Expectation Failed";
    case 421: return "Misdirected Request";
    case 422: return "Unprocessable Content";
    case 429: return "Too Many Requests";
    case 431: return "Request Header Fields Too Large";
    case 500: return "Internal Server Error";
    case 501: return "Not Implemented";
    case 503: return "Service Unavailable";
    case 505: return "HTTP Version Not Supported";
  }
  return "Error";
}

Response problem(int status, std::string_view detail) {
  Response response;
  response.status = status;
  response.content_type = "application/problem+json";
  base::JsonWriter json(response.body);
  json.begin_object().member("type", "about:blank").member("title", reason_phrase(status));
  json.member("status", int64_t{status}).member("detail", detail).end_object();
  return response;
}

Response problem(const base::Error& error) {
  const bool later = error.fault == base::Fault::kEnvironment;
  Response response = problem(later ? 503 : 500, error.text);
  if (later) response.headers.emplace_back("Retry-After", "5");
  return response;
}

Response problem(const DeedAnswer& answer) {
  using Kind = DeedAnswer::Kind;
  switch (answer.kind) {
    case Kind::kNotFound: return problem(404, answer.text);
    case Kind::kConflict: return problem(409, answer.text);
    case Kind::kRefused: return problem(400, answer.text);
    case Kind::kBusy:
    case Kind::kFailed: {
      Response response = problem(503, answer.text);
      response.headers.emplace_back("Retry-After", "5");
      return response;
    }
    case Kind::kDone: break;
  }
  return problem(500, "done, and asked what is wrong");
}

}  // namespace girdle::api
