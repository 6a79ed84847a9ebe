#include "delivery/webhook_sender.h"

#include <algorithm>
#include <boost/asio/use_awaitable.hpp>
#include <optional>
#include <utility>

#include "delivery/answer_reading.h"
#include "delivery/authorization.h"
#include "delivery/http_client.h"
#include "delivery/secret_file.h"
#include "delivery/webhook_request.h"

namespace girdle::delivery {
namespace asio = boost::asio;

namespace {

// What the connections of one outlet share.
struct Webhook {
  std::unique_ptr<HttpTarget> target;
  std::unique_ptr<Authorization> authorization;
  std::unique_ptr<WebhookRequest> request;
  std::unique_ptr<AnswerReader> answers;
  const base::Clock& clock;
};

class WebhookSender final : public Sender {
 public:
  WebhookSender(std::shared_ptr<Webhook> webhook, const SenderParts& parts)
      : webhook_(std::move(webhook)), connection_(parts.executor, *webhook_->target, parts.resolver) {}

  asio::awaitable<Attempt> send(std::span<const model::Delivery> deliveries) override;

 private:
  void read(Attempt& attempt, const Answer& answer, const std::string& authorization);

  std::shared_ptr<Webhook> webhook_;
  HttpConnection connection_;
  std::string buffer_;
};

asio::awaitable<Attempt> WebhookSender::send(std::span<const model::Delivery> deliveries) {
  Attempt attempt;
  const base::Result<std::string> authorization = co_await webhook_->authorization->value();
  if (!authorization) {
    attempt.failure = authorization.error().text;
    co_return attempt;
  }
  const auto request =
      webhook_->request->write(buffer_, deliveries, *authorization, webhook_->clock.now(), attempt.unwritable);
  if (!request) co_return attempt;
  const base::Result<Answer> answer = co_await connection_.post(*request);
  if (answer) {
    read(attempt, *answer, *authorization);
  } else {
    attempt.failure = answer.error().text;
  }
  co_return attempt;
}

void WebhookSender::read(Attempt& attempt, const Answer& answer, const std::string& authorization) {
  attempt.end = Attempt::End::kAnswered;
  attempt.status = answer.status;
  attempt.retry_after = answer.retry_after;
  if (answer.status == 401) webhook_->authorization->refused(authorization);
  ReadAnswer read = webhook_->answers->read(answer, authorization);
  attempt.answer = std::move(read.first_bytes);
  attempt.reference = std::move(read.reference);
  attempt.failure = std::move(read.problem);
}

// Which part of the webhook it is without which the target could be made.
model::Mark blamed(const config::Webhook& webhook) {
  config::Webhook without = webhook;
  if (without.proxy) {
    without.proxy.reset();
    if (HttpTarget::create(without)) return webhook.proxy->mark;
  }
  if (without.certificate) {
    without.certificate.reset();
    if (HttpTarget::create(without)) return webhook.certificate->mark;
  }
  if (!without.addresses.empty()) {
    without.addresses.clear();
    if (HttpTarget::create(without)) return webhook.addresses.front().mark;
  }
  return webhook.mark;
}

model::Mark mark_of_credentials(const config::Webhook& webhook) {
  if (webhook.oauth) return webhook.oauth->mark;
  if (webhook.basic) return webhook.basic->password.mark;
  return webhook.bearer.given() ? webhook.bearer.mark : webhook.mark;
}

bool is_plain_to_elsewhere(const Url& url) {
  if (url.tls) return false;
  return url.literal ? url.host != "::1" && !url.host.starts_with("127.") : url.host != "localhost";
}

std::optional<Url> address_of(const config::Webhook& webhook, const config::Report& report) {
  auto url = parse_url(webhook.url);
  if (url) return std::move(url).value();
  report(webhook.mark, "url: " + url.error().text);
  return std::nullopt;
}

std::unique_ptr<HttpTarget> open_target(const config::Webhook& webhook, const Url& url, const config::Report& report) {
  if (!webhook.insecure && is_plain_to_elsewhere(url)) {
    report(webhook.mark, "url: http:// to " + url.host +
                             " is not encrypted, and goes only to this machine's loopback; use https://, or say  "
                             "insecure: true  in so many words");
    return nullptr;
  }
  auto target = HttpTarget::create(webhook);
  if (target) return std::move(target).value();
  report(blamed(webhook), target.error().text);
  return nullptr;
}

// Whether the secrets could be read; there may be none.
bool load_secrets(const config::Webhook& webhook, const config::Report& report, std::vector<Secret>& secrets) {
  if (!webhook.secret.given()) return true;
  auto loaded = load_signing_secrets(webhook.secret);
  if (loaded) {
    secrets = std::move(loaded).value();
  } else {
    report(webhook.secret.mark, "secret_file: " + loaded.error().text);
  }
  return loaded.ok();
}

std::unique_ptr<AnswerReader> open_answers(const config::Webhook& webhook, const Authorization& authorization,
                                           const config::Report& report) {
  Blanks blanks;
  authorization.add_secrets(blanks);
  auto reader = AnswerReader::create(webhook.reference, std::move(blanks));
  if (reader) return std::make_unique<AnswerReader>(std::move(reader).value());
  report(webhook.reference_mark, "reference: " + reader.error().text);
  return nullptr;
}

// Without an address the rest is looked at all the same, so that one pass tells all.
std::unique_ptr<WebhookRequest> make_request(const config::Outlet& outlet, const std::optional<Url>& url,
                                             const base::Zone& zone, const config::Report& report) {
  std::vector<Secret> secrets;
  const bool loaded = load_secrets(outlet.webhook, report, secrets);
  std::optional<Signer> signer;
  if (!secrets.empty()) signer.emplace(secrets);
  Url nowhere;
  nowhere.target = "/";
  auto request = WebhookRequest::create(url.value_or(nowhere), outlet, zone, std::move(signer), report);
  return loaded && url ? std::move(request) : nullptr;
}

}  // namespace

std::unique_ptr<WebhookRequest> open_request(const config::Outlet& outlet, const base::Zone& zone,
                                             const config::Report& report) {
  return make_request(outlet, address_of(outlet.webhook, report), zone, report);
}

std::vector<std::unique_ptr<Sender>> open_webhook_senders(const config::Outlet& outlet, const SenderParts& parts,
                                                          const config::Report& report) {
  const config::Webhook& settings = outlet.webhook;
  const std::optional<Url> url = address_of(settings, report);
  std::unique_ptr<HttpTarget> target = url ? open_target(settings, *url, report) : nullptr;
  std::unique_ptr<WebhookRequest> request = make_request(outlet, url, parts.zone, report);
  auto authorization = Authorization::create(settings, parts.executor, parts.resolver, parts.clock);
  if (!authorization) {
    report(mark_of_credentials(settings), authorization.error().text);
    return {};
  }
  std::unique_ptr<AnswerReader> answers = open_answers(settings, **authorization, report);
  if (!target || !request || !answers) return {};
  const auto webhook = std::make_shared<Webhook>(Webhook{std::move(target), std::move(authorization).value(),
                                                         std::move(request), std::move(answers), parts.clock});
  std::vector<std::unique_ptr<Sender>> senders;
  for (int i = 0; i < std::max(1, outlet.in_flight); ++i) senders.push_back(std::make_unique<WebhookSender>(webhook, parts));
  return senders;
}

}  // namespace girdle::delivery
