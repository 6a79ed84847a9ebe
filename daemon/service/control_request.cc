#include "service/control_request.h"

#include <simdjson.h>

#include <algorithm>
#include <set>

#include "base/json.h"
#include "base/overload.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::service {
namespace {

using base::Overload;
using base::Result;
using simdjson::dom::element;
using simdjson::dom::object;

void write_selection(base::JsonWriter& json, const ledger::Selection& selection) {
  const auto text = [&](std::string_view name, const std::string& value) {
    if (!value.empty()) json.member(name, std::string_view(value));
  };
  const auto time = [&](std::string_view name, const std::optional<base::Instant>& value) {
    if (value) json.member(name, base::to_millis(*value));
  };
  if (selection.delivery != 0) json.member("delivery", int64_t{selection.delivery});
  text("stock_number", selection.stock_number);
  if (selection.parked) json.member("parked", true);
  time("since_ms", selection.since);
  time("until_ms", selection.until);
  text("outlet", selection.outlet);
}

// The members of one object, each of which has to be asked for: what nobody knows is refused, for it may have been
// meant to narrow what is done.
class Members {
 public:
  explicit Members(const object& from) : from_(from) {}

  void text(std::string_view name, std::string& out) {
    std::string_view value;
    if (const auto found = take(name); found && !fits(found->get(value), name)) return;
    out = value;
  }
  void number(std::string_view name, int64_t& out) {
    if (const auto found = take(name)) fits(found->get(out), name);
  }
  void flag(std::string_view name, bool& out) {
    if (const auto found = take(name)) fits(found->get(out), name);
  }
  void time(std::string_view name, std::optional<base::Instant>& out) {
    int64_t value = 0;
    if (const auto found = take(name); found && fits(found->get(value), name)) out = base::from_millis(value);
  }

  // Once all that is known was asked for.
  Result<void> finish() const {
    if (!wrong_.empty()) return base::input_error(wrong_);
    for (const auto field : from_) {
      if (!taken_.contains(field.key)) {
        return base::input_error("it does not know " + base::in_quotes(field.key) + ": is it of an older version?");
      }
    }
    return {};
  }

 private:
  std::optional<element> take(std::string_view name) {
    taken_.insert(name);
    element found;
    if (from_.at_key(name).get(found) != simdjson::SUCCESS) return std::nullopt;
    return found;
  }
  bool fits(simdjson::error_code error, std::string_view name) {
    if (error != simdjson::SUCCESS) wrong_ = base::in_quotes(name) + " is of a wrong type";
    return error == simdjson::SUCCESS;
  }

  const object& from_;
  std::set<std::string_view> taken_;
  std::string wrong_;
};

// The parser lives as long as what it gives.
Result<object> parse_object(simdjson::dom::parser& parser, std::string_view line) {
  if (line.size() > kMostRequestBytes) return base::input_error("it is too long");
  object found;
  if (parser.parse(line.data(), line.size()).get(found) != simdjson::SUCCESS) {
    return base::input_error("it is no JSON object");
  }
  return found;
}

Result<ControlRequest> read_resend(Members& members) {
  ledger::Selection selection;
  members.number("delivery", selection.delivery);
  members.text("stock_number", selection.stock_number);
  members.flag("parked", selection.parked);
  members.time("since_ms", selection.since);
  members.time("until_ms", selection.until);
  members.text("outlet", selection.outlet);
  if (auto done = members.finish(); !done) return done.error();
  if (selection.delivery < 0) return base::input_error("\"delivery\" is no number of a delivery");
  return ControlRequest(ResendRequest{std::move(selection)});
}

Result<ControlRequest> read_outlet_request(std::string_view what, Members& members) {
  PauseRequest pause;
  members.text("outlet", pause.outlet);
  if (what == "pause") members.text("why", pause.why);
  if (auto done = members.finish(); !done) return done.error();
  if (what == "pause") return ControlRequest(std::move(pause));
  return ControlRequest(ResumeRequest{std::move(pause.outlet)});
}

int digit_of(char c) { return base::is_digit(c) ? c - '0' : base::lower(c) - 'a' + 10; }

// Of 64 hexadecimal digits.
std::optional<base::Digest> digest_of(std::string_view text) {
  base::Digest digest;
  if (text.size() != 2 * digest.size() || !std::ranges::all_of(text, base::is_hex)) return std::nullopt;
  for (size_t i = 0; i < digest.size(); ++i) {
    digest[i] = static_cast<uint8_t>(digit_of(text[2 * i]) * 16 + digit_of(text[2 * i + 1]));
  }
  return digest;
}

Result<ControlRequest> read_add_token(Members& members) {
  AddTokenRequest add;
  std::string digest;
  members.text("name", add.name);
  members.text("role", add.role);
  members.text("sha256", digest);
  if (auto done = members.finish(); !done) return done.error();
  const auto read = digest_of(digest);
  if (!read) return base::input_error("\"sha256\" is no digest: 64 hexadecimal digits");
  add.digest = *read;
  return ControlRequest(std::move(add));
}

Result<ControlRequest> read_revoke_token(Members& members) {
  RevokeTokenRequest revoke;
  members.text("name", revoke.name);
  if (auto done = members.finish(); !done) return done.error();
  return ControlRequest(std::move(revoke));
}

}  // namespace

std::string to_line(const ControlRequest& request) {
  std::string line;
  base::JsonWriter json(line);
  json.begin_object();
  std::visit(Overload{[&](const ResendRequest& resend) {
                        json.member("do", "resend");
                        write_selection(json, resend.selection);
                      },
                      [&](const PauseRequest& pause) {
                        json.member("do", "pause").member("outlet", std::string_view(pause.outlet));
                        json.member("why", std::string_view(pause.why));
                      },
                      [&](const ResumeRequest& resume) {
                        json.member("do", "resume").member("outlet", std::string_view(resume.outlet));
                      },
                      [&](const AddTokenRequest& add) {
                        json.member("do", "add_token").member("name", std::string_view(add.name));
                        json.member("role", std::string_view(add.role));
                        json.member("sha256", std::string_view(base::hex(add.digest)));
                      },
                      [&](const RevokeTokenRequest& revoke) {
                        json.member("do", "revoke_token").member("name", std::string_view(revoke.name));
                      }},
             request);
  json.end_object();
  return line;
}

std::string to_line(const ControlAnswer& answer) {
  std::string line;
  base::JsonWriter json(line);
  json.begin_object();
  if (!answer.refused.empty()) json.member("refused", std::string_view(answer.refused));
  if (!answer.failed.empty()) json.member("failed", std::string_view(answer.failed));
  json.member("again", answer.resent.again).member("overtaken", answer.resent.overtaken);
  json.member("waiting", answer.resent.waiting).member("changed", answer.changed).end_object();
  return line;
}

Result<ControlRequest> parse_request(std::string_view line) {
  simdjson::dom::parser parser;
  const auto from = parse_object(parser, line);
  if (!from) return from.error();
  Members members(*from);
  std::string what;
  members.text("do", what);
  if (what == "resend") return read_resend(members);
  if (what == "pause" || what == "resume") return read_outlet_request(what, members);
  if (what == "add_token") return read_add_token(members);
  if (what == "revoke_token") return read_revoke_token(members);
  return base::input_error("it does not know how to " + base::in_quotes(what) +
                           "; it can resend, pause, resume, add_token and revoke_token");
}

Result<ControlAnswer> parse_answer(std::string_view line) {
  simdjson::dom::parser parser;
  const auto from = parse_object(parser, line);
  if (!from) return from.error();
  Members members(*from);
  ControlAnswer answer;
  members.text("refused", answer.refused);
  members.text("failed", answer.failed);
  members.number("again", answer.resent.again);
  members.number("overtaken", answer.resent.overtaken);
  members.number("waiting", answer.resent.waiting);
  members.flag("changed", answer.changed);
  if (auto done = members.finish(); !done) return done.error();
  return answer;
}

}  // namespace girdle::service
