// What comes in over HTTP and what goes back, without HTTP: plain values. The server (server.h) has guarded the request
// before any of this is made; a route answers it.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace girdle::api {

// What who asks may do: each may all that the one before it may.
enum class Role : uint8_t {
  kNobody,  // health, metrics of a loopback address, the console's own files, signing in
  kLook,
  kWork,
  kAdmin,
};
std::string_view text(Role role);  // "look", "work", "admin"; "nobody"
std::optional<Role> role_of(std::string_view word);  // of the three that a token can have

struct Caller {
  Role role = Role::kNobody;
  std::string token;  // the name of the token that was shown; empty = none was
};

enum class Method : uint8_t { kGet, kPost, kDelete };  // a HEAD is a GET whose body is not sent
std::string_view text(Method method);

struct Request {
  Method method = Method::kGet;
  std::vector<std::string> path;  // segments, percent-decoded: {"api", "v1", "cases"}; none is empty, "." or ".."
  std::vector<std::pair<std::string, std::string>> query;  // decoded, in the order given
  std::string content_type;  // without parameters, in small letters
  std::string if_none_match;
  std::string last_event_id;
  std::string body;
  Caller caller;

  // The first of that name; empty where there is none.
  std::string_view query_value(std::string_view name) const;
};

struct Response {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::shared_ptr<const void> keep;  // owner of `view`, where it needs one
  std::string_view view;             // in place of `body`: bytes that live at least as long as `keep`, or for ever
  std::vector<std::pair<std::string, std::string>> headers;  // besides those that every answer has; checked by the server

  std::string_view bytes() const { return view.data() == nullptr ? std::string_view(body) : view; }
};

// Called once, from any thread.
using Answer = std::function<void(Response)>;

}  // namespace girdle::api
