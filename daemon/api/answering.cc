#include "api/answering.h"

#include <algorithm>
#include <exception>
#include <utility>

#include "api/answer_head.h"
#include "api/problem.h"
#include "api/session_text.h"

namespace girdle::api {

namespace asio = boost::asio;

namespace {

constexpr size_t kMostBody = 64 << 10;  // where a route does not say
// A token that is not known may have been made just now: it is looked for again.
constexpr base::Millis kFreshTokens{0};

Response busy(std::string_view detail, std::string_view later) {
  Response response = problem(503, detail);
  response.headers.emplace_back("Retry-After", later);
  return response;
}

Response not_allowed(std::string allowed) {
  // RFC 9110 10.2.1: what is answered here, and HEAD is wherever GET is.
  if (const size_t at = allowed.find("GET"); at != std::string::npos) allowed.insert(at + 3, ", HEAD");
  Response response = problem(405, "this address takes " + allowed);
  response.headers.emplace_back("Allow", std::move(allowed));
  return response;
}

Call call_of(const Admitted& admitted, const House& house, base::Instant now) {
  return Call{admitted.asked.request, admitted.parts, house, now};
}

}  // namespace

Answering::Answering(Parts parts, Offer offer, HostNames names, const Limits& limits)
    : parts_(std::move(parts)), offer_(std::move(offer)), limits_(limits), access_(std::move(names)) {}

void Answering::fault(std::string_view what) {
  std::call_once(told_, [&] { parts_.log.error("a request of the API ended by a fault", {{"fault", what}}); });
}

// The console's files are compared whole: no path ever becomes one of a file system.
std::optional<Answering::Verdict> Answering::find_file(const std::shared_ptr<Admitted>& admitted) const {
  const Request& request = admitted->asked.request;
  if (!request.path.empty() && request.path.front() != "console") return std::nullopt;
  std::string path = request.path.empty() ? "/" : "";
  for (const std::string& segment : request.path) path += '/' + segment;
  const auto file = std::ranges::find(offer_.files, path, &ConsoleFile::path);
  if (file == offer_.files.end()) return problem(404, "there is no such page");
  if (request.method != Method::kGet) return not_allowed("GET");
  admitted->file = &*file;
  return admitted;
}

// Tokens are made and revoked by another program, in the ledger.
asio::awaitable<void> Answering::know_tokens(base::Millis most_age) {
  if (has_tokens_ && now() - tokens_at_ < most_age) co_return;
  using Tokens = base::Result<std::vector<KnownToken>>;
  Pending<Tokens> pending(parts_.executor, parts_.home);
  parts_.readers.submit_first([give = pending.giver(), tokens = offer_.tokens](const base::Result<Teller*>& teller) {
    give(teller ? tokens(**teller) : Tokens(teller.error()));
  });
  std::optional<Tokens> known = co_await pending.wait(limits_.standing);
  has_tokens_ = known && *known;
  if (!has_tokens_) co_return;
  access_.set_tokens(std::move(**known));
  tokens_at_ = now();
}

asio::awaitable<std::optional<Response>> Answering::identify(std::shared_ptr<Admitted> admitted) {
  const Guarded& asked = admitted->asked;
  if (Access::shows_credentials(asked, admitted->peer)) {
    co_await know_tokens(limits_.tokens_age);
    if (!asked.authorization.empty() && !access_.knows(asked)) co_await know_tokens(kFreshTokens);
    // Without knowing the tokens nobody is let in by one, nor told that it is wrong.
    if (!has_tokens_) co_return busy("the ledger cannot be read, and with it the tokens", "5");
  }
  auto identified = access_.identify(asked, admitted->peer, now());
  if (auto* const wrong = std::get_if<Response>(&identified)) co_return std::move(*wrong);
  admitted->asker = std::get<Asker>(std::move(identified));
  const Role needed = admitted->route->role;
  const Caller& caller = admitted->asker.caller;
  if (caller.role >= needed) co_return std::nullopt;
  if (admitted->asker.token != 0) co_return need_role(needed, caller);
  co_return need_token("this needs a token with the role `" + std::string(text(needed)) + "`", false);
}

asio::awaitable<Answering::Verdict> Answering::admit(Guarded asked, Peer peer) {
  const auto admitted = std::make_shared<Admitted>();
  admitted->asked = std::move(asked);
  admitted->peer = std::move(peer);
  if (auto wrong = access_.refuse(admitted->asked, admitted->peer)) co_return std::move(*wrong);
  if (auto verdict = find_file(admitted)) co_return std::move(*verdict);
  Found found = find_route(offer_.routes, admitted->asked.request);
  if (found.route == nullptr && found.status == 405) co_return not_allowed(std::move(found.allowed));
  if (found.route == nullptr) co_return problem(404, "there is nothing at this address");
  admitted->route = found.route;
  admitted->parts = std::move(found.parts);
  admitted->most_body = found.route->most_body > 0 ? found.route->most_body : kMostBody;
  if (found.route->role > Role::kNobody) {
    std::optional<Response> wrong = co_await identify(admitted);
    if (wrong) co_return std::move(*wrong);
  }
  if (admitted->asked.length > admitted->most_body) {
    co_return problem(
        413, "the body is longer than the " + std::to_string(admitted->most_body) + " bytes that are taken here");
  }
  admitted->asked.request.caller = admitted->asker.caller;
  co_return admitted;
}

asio::awaitable<Response> Answering::answer(std::shared_ptr<Admitted> admitted) {
  Response response;
  if (admitted->file != nullptr) {
    response.content_type = admitted->file->content_type;
    response.view = admitted->file->bytes;
    response.headers.emplace_back("ETag", admitted->file->etag);
    settle_tag(response, admitted->asked.request.if_none_match);
  } else if (admitted->route->read != nullptr) {
    response = co_await read(admitted);
  } else if (admitted->route->standing != nullptr) {
    response = co_await with_standing(admitted);
  } else if (admitted->route->deed != nullptr) {
    response = co_await act(admitted);
  } else {
    response = co_await own(admitted);
  }
  co_return response;
}

asio::awaitable<Response> Answering::on_thread(std::shared_ptr<Admitted> admitted, OnThread work) {
  Pending<Response> pending(parts_.executor, parts_.home);
  const bool taken = parts_.readers.submit(
      [give = pending.giver(), admitted, work = std::move(work)](const base::Result<Teller*>& teller) {
        if (!teller) return give(problem(teller.error()));
        try {
          Response response = work(**teller);
          // Here, because a digest of a long body would hold up everybody on the server's thread.
          if (admitted->asked.request.method == Method::kGet)
            settle_tag(response, admitted->asked.request.if_none_match);
          give(std::move(response));
        } catch (...) {
          give(problem(500, "the request ended by a fault of the program"));
          throw;
        }
      });
  if (!taken) co_return busy("too many requests wait for the ledger", "1");
  std::optional<Response> response = co_await pending.wait(limits_.deed);
  if (!response) co_return busy("the ledger took too long to read", "5");
  co_return std::move(*response);
}

asio::awaitable<Response> Answering::read(std::shared_ptr<Admitted> admitted) {
  OnThread work = [admitted, house = parts_.desk.house(), now = parts_.clock.now()](Teller& teller) {
    return admitted->route->read(call_of(*admitted, *house, now), teller);
  };
  Response response = co_await on_thread(admitted, std::move(work));
  co_return response;
}

asio::awaitable<Response> Answering::act(std::shared_ptr<Admitted> admitted) {
  Pending<Response> pending(parts_.executor, parts_.home);
  const auto house = parts_.desk.house();
  try {
    admitted->route->deed(call_of(*admitted, *house, parts_.clock.now()), parts_.desk, pending.giver());
  } catch (const std::exception& wrong) {
    fault(wrong.what());
    co_return problem(500, "the request ended by a fault of the program");
  }
  std::optional<Response> response = co_await pending.wait(limits_.deed);
  if (!response) co_return busy("the service did not say in time that it is done: it may be done yet", "5");
  co_return std::move(*response);
}

// On a reading thread: only what does not change is touched of ours.
Response Answering::of_standing(const Admitted& admitted, const House& house, const Standing& standing, Teller& teller,
                                const ServerState& state) const {
  const base::Instant now = parts_.clock.now();
  if (admitted.route->standing != nullptr)
    return admitted.route->standing(call_of(admitted, house, now), teller, standing);
  if (admitted.route->pattern == "/metrics") return offer_.metrics(house, standing, parts_.meters, teller, now, state);
  return offer_.ready(house, standing, teller);
}

// How the stages stand, which they say on their own threads, and then what the ledger says.
asio::awaitable<Response> Answering::with_standing(std::shared_ptr<Admitted> admitted) {
  Pending<Standing> pending(parts_.executor, parts_.home);
  parts_.desk.standing(pending.giver());
  std::optional<Standing> how = co_await pending.wait(limits_.standing);
  if (!how) co_return busy("the service did not say in time how it stands", "5");
  const auto kept = std::make_shared<const Standing>(std::move(*how));
  OnThread work = [this, admitted, kept, house = parts_.desk.house(), state = parts_.state()](Teller& teller) {
    return of_standing(*admitted, *house, *kept, teller, state);
  };
  Response response = co_await on_thread(admitted, std::move(work));
  co_return response;
}

// What no route answers: those of the server itself.
asio::awaitable<Response> Answering::own(std::shared_ptr<Admitted> admitted) {
  const std::string_view pattern = admitted->route->pattern;
  Response response;
  if (pattern == "/health/live") {
    response = offer_.live();
    settle_tag(response, admitted->asked.request.if_none_match);
  } else if (pattern == "/health/ready" || pattern == "/metrics") {
    response = co_await with_standing(admitted);
  } else if (pattern == "/api/v1/session") {
    response = co_await session(admitted);
  } else {
    fault("a route that nobody answers");
    response = problem(500, "nobody answers here: a fault of the program");
  }
  co_return response;
}

asio::awaitable<Response> Answering::session(std::shared_ptr<Admitted> admitted) {
  Response response;
  switch (admitted->asked.request.method) {
    case Method::kGet:
      response = tell_session(admitted->asker);
      settle_tag(response, admitted->asked.request.if_none_match);
      break;
    case Method::kPost:
      co_await know_tokens(kFreshTokens);
      response = has_tokens_ ? sign_in(*admitted) : busy("the ledger cannot be read, and with it the tokens", "5");
      break;
    case Method::kDelete: response = sign_out(*admitted); break;
  }
  co_return response;
}

Response Answering::tell_session(const Asker& asker) const {
  Response response;
  response.body = session_text(asker.caller, asker.session.has_value(), *parts_.desk.house(), parts_.clock.now());
  return response;
}

Response Answering::sign_in(const Admitted& admitted) {
  // No page of another site can send this type without being asked for leave first (Fetch Standard 3.3.1).
  if (admitted.asked.request.content_type != "application/json") return problem(415, "the body is application/json");
  if (auto foreign = Access::refuse_foreign(admitted.asked, admitted.peer)) return std::move(*foreign);
  const auto token = token_of(admitted.asked.request.body);
  if (!token) return problem(400, token.error().text);
  auto signed_in = access_.sign_in(*token, admitted.peer, now());
  if (auto* const wrong = std::get_if<Response>(&signed_in)) return std::move(*wrong);
  auto& done = std::get<Access::SignedIn>(signed_in);
  Response response = tell_session(done.asker);
  response.headers.emplace_back("Set-Cookie", std::move(done.cookie));
  return response;
}

Response Answering::sign_out(const Admitted& admitted) {
  const bool has_cookie = !admitted.asked.cookie.empty();
  if (has_cookie) {
    if (auto forged = Access::refuse_forged(admitted.asked, admitted.peer)) return std::move(*forged);
  }
  Response response;
  response.status = 204;
  response.headers.emplace_back("Set-Cookie", access_.sign_out(admitted.asked, admitted.peer));
  return response;
}

asio::awaitable<bool> Answering::may_still(const Asker& asker) {
  if (asker.token == 0) co_return true;
  co_await know_tokens(limits_.tokens_age);
  // Of a ledger that cannot be read nobody knows: the tokens that were known count.
  co_return access_.is_still(asker, now());
}

std::string Answering::hello(const Admitted& admitted) const {
  return parts_.feed.hello(parts_.desk.house()->site, parts_.clock.now(), admitted.asked.request.last_event_id);
}

}  // namespace girdle::api
