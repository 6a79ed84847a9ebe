// What of a request is the configuration's own besides its body: the method, segments behind the
// url's path, the query, and headers. Each may hold values of the event, and none of those may
// become anything but a value.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/leaf.h"
#include "delivery/parsed_event.h"
#include "delivery/url.h"

namespace girdle::delivery {

// Not thread-safe.
class RequestParts {
 public:
  // Reports everything that is wrong, at its place; then there are none. In a batch no part can
  // hold a value of the event: there are several.
  static std::optional<RequestParts> compile(const Url& url, const config::Outlet& outlet,
                                             const base::Zone& zone, const config::Report& report);

  // Whether some part holds a value of the event; else every request has the same.
  bool ask_the_event() const { return ask_the_event_; }

  // Appends "PUT /stock/R1042?site=quay-street". The error: a segment would be empty or lead
  // elsewhere, or the whole is longer than RFC 9112 lets anybody count on.
  base::Result<void> append_request_line(std::string& out, const ParsedEvent& event);
  // Appends header fields, each with its line end. The error: a value holds what no field of RFC
  // 9110 (5.5) can.
  base::Result<void> append_fields(std::string& out, const ParsedEvent& event);

  RequestParts(RequestParts&&) = default;

 private:
  friend class RequestCompiler;
  struct Named {
    std::string name;  // encoded
    Leaf leaf;
  };

  RequestParts() = default;

  std::string method_;
  std::string path_, query_;  // the url's own
  std::vector<Leaf> segments_;
  std::vector<Named> parameters_;
  std::vector<Named> fields_;
  bool ask_the_event_ = false;
  std::string scratch_;
};

// Whether the text can be the value of a header field, all of it: visible ASCII, and spaces and
// tabs inside.
bool is_field_value(std::string_view text);

}  // namespace girdle::delivery
