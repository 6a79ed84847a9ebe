#include "delivery/authorization.h"

#include <openssl/crypto.h>

#include <algorithm>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <optional>
#include <utility>
#include <vector>

#include "base/text.h"
#include "delivery/credentials.h"
#include "delivery/form_text.h"
#include "delivery/http_client.h"
#include "delivery/http_date.h"
#include "delivery/resolver.h"
#include "delivery/secret_file.h"
#include "delivery/token_answer.h"

namespace girdle::delivery {
namespace asio = boost::asio;

namespace {

using base::Millis;

constexpr std::string_view kBearer = "Bearer ";
// Common practice, no source: how long a token is used whose endpoint does not say, how long before
// its end it is renewed, and how long nobody asks after a failure.
constexpr Millis kLifeUnknown = std::chrono::minutes(5);
constexpr Millis kMargin = std::chrono::minutes(1);
constexpr Millis kLeastLife = std::chrono::seconds(1);
constexpr Millis kPause = std::chrono::seconds(5);
constexpr Millis kLongestPause = std::chrono::minutes(1);

// What the webhook's settings and files say.
struct Plan {
  SecretBytes fixed;                   // the value that is always the same
  std::unique_ptr<HttpTarget> target;  // of the token endpoint
  SecretBytes request;                 // for a token
  std::vector<SecretBytes> secrets;    // must not come back
};

std::string_view without_scheme(std::string_view value) {
  return value.substr(std::min(value.find(' ') + 1, value.size()));
}

// Text that is overwritten when it goes; it must not grow beyond `room`, or copies stay behind.
struct Passing {
  explicit Passing(size_t room) { text.reserve(room); }
  ~Passing() { OPENSSL_cleanse(text.data(), text.size()); }
  Passing(const Passing&) = delete;
  std::string text;
};

base::Result<void> plan_bearer(const config::SecretFile& file, Plan& plan) {
  auto token = load_secret_line(file);
  if (!token) return token.error();
  if (!std::ranges::all_of(token->view(), base::is_visible)) {
    return base::input_error(
        file.path.string() +
        ": a bearer token has visible characters of ASCII only, and no spaces");
  }
  plan.fixed = SecretBytes({kBearer, token->view()});
  plan.secrets.push_back(std::move(token).value());
  return {};
}

base::Result<void> plan_basic(const config::Webhook::Basic& basic, Plan& plan) {
  auto value = basic_credentials(basic.user, basic.password);
  if (!value) return value.error();
  plan.secrets.emplace_back(without_scheme(value->view()));
  plan.fixed = std::move(value).value();
  if (!basic.password.given()) return {};
  auto password = load_secret_line(basic.password);
  if (!password) return password.error();
  plan.secrets.push_back(std::move(password).value());
  return {};
}

void append_field(std::string& out, std::string_view name, std::string_view value) {
  if (!out.empty()) out += '&';
  out.append(name).append(1, '=');
  append_form(out, value);
}

// The client names itself by HTTP Basic of form-encoded texts (RFC 6749 2.3.1), or in the form.
base::Result<SecretBytes> token_request(const config::Webhook::OAuth& oauth, const Url& url,
                                        std::string_view secret, Plan& plan) {
  // Each byte may take three.
  const size_t room = 3 * (oauth.client_id.size() + secret.size() + oauth.scope.size()) + 256;
  Passing form(room), encoded(room),
      head(2 * room + url.target.size() + url.authority.size() + 256);
  append_form(encoded.text, secret);
  plan.secrets.emplace_back(encoded.text);
  append_field(form.text, "grant_type", "client_credentials");
  if (!oauth.scope.empty()) append_field(form.text, "scope", oauth.scope);
  head.text.append("POST ").append(url.target).append(" HTTP/1.1\r\nhost: ").append(url.authority);
  head.text.append("\r\nuser-agent: girdled\r\naccept: application/json\r\n");
  if (oauth.in_body) {
    append_field(form.text, "client_id", oauth.client_id);
    form.text.append("&client_secret=").append(encoded.text);
  } else {
    std::string id;
    append_form(id, oauth.client_id);
    auto basic = basic_credentials(id, std::string_view(encoded.text));
    if (!basic) return base::input_error("client_id: " + basic.error().text);
    head.text.append("authorization: ").append(basic->view()).append("\r\n");
    plan.secrets.emplace_back(without_scheme(basic->view()));
  }
  head.text.append("content-type: application/x-www-form-urlencoded\r\ncontent-length: ")
      .append(std::to_string(form.text.size()))
      .append("\r\n\r\n")
      .append(form.text);
  return SecretBytes(head.text);
}

base::Result<void> plan_oauth(const config::Webhook& webhook, Plan& plan) {
  const config::Webhook::OAuth& oauth = *webhook.oauth;
  config::Webhook endpoint;  // reached as the webhook is
  endpoint.url = oauth.token_url;
  endpoint.insecure = webhook.insecure;
  endpoint.addresses = webhook.addresses;
  endpoint.ca_file = webhook.ca_file;
  endpoint.timeout = webhook.timeout;
  endpoint.certificate = webhook.certificate;
  endpoint.proxy = webhook.proxy;
  auto target = HttpTarget::create(endpoint);
  if (!target) return base::input_error("oauth: token_url: " + target.error().text);
  auto secret = load_secret_line(oauth.client_secret);
  if (!secret) return secret.error();
  auto request = token_request(oauth, (*target)->url(), secret->view(), plan);
  if (!request) return base::input_error("oauth: " + request.error().text);
  plan.secrets.push_back(std::move(secret).value());
  plan.request = std::move(request).value();
  plan.target = std::move(target).value();
  return {};
}

base::Result<Plan> make_plan(const config::Webhook& webhook) {
  const int ways =
      (webhook.bearer.given() ? 1 : 0) + (webhook.basic ? 1 : 0) + (webhook.oauth ? 1 : 0);
  if (ways > 1) {
    return base::input_error(
        "bearer, basic and oauth all stand in the one header Authorization: keep one of them");
  }
  Plan plan;
  base::Result<void> done;
  if (webhook.bearer.given()) done = plan_bearer(webhook.bearer, plan);
  if (webhook.basic) done = plan_basic(*webhook.basic, plan);
  if (webhook.oauth) done = plan_oauth(webhook, plan);
  if (!done) return std::move(done.error());
  return plan;
}

}  // namespace

class Authorization::Impl {
 public:
  Impl(Plan plan, asio::any_io_executor executor, Resolver& resolver, const base::Clock& clock)
      : plan_(std::move(plan)), executor_(executor), clock_(clock) {
    if (plan_.target) connection_.emplace(std::move(executor), *plan_.target, resolver);
    for (const SecretBytes& secret : plan_.secrets) blanks_.add(secret.view());
  }

  asio::awaitable<base::Result<std::string>> value();
  void refused(std::string_view value);
  void add_secrets(Blanks& blanks) const {
    for (const SecretBytes& secret : plan_.secrets) blanks.add(secret.view());
  }

 private:
  // While it lives, one coroutine asks. Tells all who wait that it does no longer, even when it was
  // cancelled: then another of them asks.
  struct Asking {
    explicit Asking(Impl& impl) : impl_(impl) { impl_.asking_ = true; }
    ~Asking() {
      impl_.asking_ = false;
      for (asio::steady_timer* const timer : impl_.waiting_) timer->cancel();
    }
    Asking(const Asking&) = delete;
    Impl& impl_;
  };

  asio::awaitable<void> ask();
  asio::awaitable<void> wait();
  void keep(Token token);
  void fail(std::string why, const Answer* answer);

  Plan plan_;
  Blanks blanks_;
  asio::any_io_executor executor_;
  const base::Clock& clock_;
  std::optional<HttpConnection> connection_;

  SecretBytes token_;  // as a value; empty = none. The times are of clock_.elapsed().
  Millis fresh_until_{}, valid_until_{};
  std::optional<base::Error> failure_;  // of the last time that somebody asked
  Millis ask_again_at_ = Millis::min();
  bool asking_ = false;
  std::vector<asio::steady_timer*> waiting_;  // in the frames of coroutines
};

asio::awaitable<base::Result<std::string>> Authorization::Impl::value() {
  if (!plan_.target) co_return std::string(plan_.fixed.view());
  while (true) {
    const Millis now = clock_.elapsed();
    const bool has_token = !token_.view().empty();
    if (has_token && now < fresh_until_) co_return std::string(token_.view());
    if (asking_) {
      co_await wait();
    } else if (now >= ask_again_at_) {
      co_await ask();
    } else if (has_token && now < valid_until_) {
      co_return std::string(token_.view());
    } else {
      co_return *failure_;
    }
  }
}

asio::awaitable<void> Authorization::Impl::wait() {
  asio::steady_timer timer(executor_, asio::steady_timer::time_point::max());
  struct Waiting {
    Impl& impl;
    asio::steady_timer* timer;
    ~Waiting() { std::erase(impl.waiting_, timer); }
  };
  waiting_.push_back(&timer);
  const Waiting waiting{*this, &timer};
  boost::system::error_code ignored;
  co_await timer.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
}

asio::awaitable<void> Authorization::Impl::ask() {
  const Asking asking(*this);
  const std::string_view request = plan_.request.view();
  base::Result<Answer> answer = co_await connection_->post(request);
  if (!answer) {
    fail(answer.error().text, nullptr);
    co_return;
  }
  auto token = read_token(*answer, blanks_);
  OPENSSL_cleanse(answer->body.data(), answer->body.size());
  if (token) {
    keep(std::move(token).value());
  } else {
    fail(plan_.target->name() + ": " + token.error().text, &*answer);
  }
}

void Authorization::Impl::keep(Token token) {
  const Millis life = token.lives ? Millis(*token.lives) : kLifeUnknown;
  const Millis now = clock_.elapsed();
  valid_until_ = now + std::max(life, kLeastLife);
  fresh_until_ = now + std::max(life - std::min(kMargin, life / 4), kLeastLife);
  ask_again_at_ = now;
  failure_.reset();
  token_ = SecretBytes({kBearer, token.text});
  OPENSSL_cleanse(token.text.data(), token.text.size());
}

void Authorization::Impl::fail(std::string why, const Answer* answer) {
  failure_ = base::environment_error("no access token: " + std::move(why));
  Millis pause = kPause;
  if (answer != nullptr) {
    const auto asked = parse_retry_after(answer->retry_after, clock_.now());
    if (asked) pause = std::clamp(*asked, kPause, kLongestPause);
  }
  ask_again_at_ = clock_.elapsed() + pause;
}

void Authorization::Impl::refused(std::string_view value) {
  if (plan_.target && value == token_.view()) token_ = SecretBytes();
}

base::Result<std::unique_ptr<Authorization>> Authorization::create(const config::Webhook& webhook,
                                                                   asio::any_io_executor executor,
                                                                   Resolver& resolver,
                                                                   const base::Clock& clock) {
  auto plan = make_plan(webhook);
  if (!plan) return std::move(plan.error());
  return std::unique_ptr<Authorization>(new Authorization(
      std::make_unique<Impl>(std::move(plan).value(), std::move(executor), resolver, clock)));
}

Authorization::Authorization(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Authorization::~Authorization() = default;

asio::awaitable<base::Result<std::string>> Authorization::value() { return impl_->value(); }
void Authorization::refused(std::string_view value) { impl_->refused(value); }
void Authorization::add_secrets(Blanks& blanks) const { impl_->add_secrets(blanks); }

}  // namespace girdle::delivery
