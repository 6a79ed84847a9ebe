#include "delivery/webhook_request.h"

#include <algorithm>
#include <charconv>

#include "base/digest.h"
#include "base/text.h"
#include "delivery/own_body.h"

namespace girdle::delivery {
namespace {

using base::Result;

constexpr size_t kLongestId = 256;
// For an id, a timestamp, a few signatures, a length and the names of their headers.
constexpr size_t kRoomForTheRest = 1024 + kLongestId;

// Visible ASCII: no CR or LF gets from a ledger into a header.
bool is_id(std::string_view text) {
  return !text.empty() && text.size() <= kLongestId && std::ranges::all_of(text, base::is_visible);
}

struct Digits {
  explicit Digits(int64_t number) : end(std::to_chars(bytes, bytes + sizeof bytes, number).ptr) {}
  operator std::string_view() const { return {bytes, static_cast<size_t>(end - bytes)}; }
  char bytes[24];
  char* end;
};

}  // namespace

std::unique_ptr<WebhookRequest> WebhookRequest::create(const Url& url, const config::Outlet& outlet,
                                                       const base::Zone& zone,
                                                       std::optional<Signer> signer,
                                                       const config::Report& report) {
  auto body = make_body(outlet, zone, report);
  auto parts = RequestParts::compile(url, outlet, zone, report);
  if (!body || !parts) return nullptr;
  const bool is_batch = outlet.batch.count > 1;
  std::unique_ptr<WebhookRequest> request(
      new WebhookRequest(std::move(body), std::move(*parts), std::move(signer), is_batch));
  request->host_ =
      " HTTP/1.1\r\nhost: " + url.authority +
      "\r\nuser-agent: girdled\r\ncontent-type: " + std::string(request->body_->content_type()) +
      "\r\n";
  if (request->parts_.ask_the_event()) return request;
  const auto line = request->parts_.append_request_line(request->start_, request->event_);
  request->start_ += request->host_;
  const auto fields = request->parts_.append_fields(request->start_, request->event_);
  for (const auto& constants : {line, fields}) {
    if (constants) continue;
    report(outlet.webhook.mark, constants.error().text);
    request.reset();
    break;
  }
  return request;
}

WebhookRequest::WebhookRequest(std::unique_ptr<Body> body, RequestParts parts,
                               std::optional<Signer> signer, bool is_batch)
    : body_(std::move(body)),
      own_body_(dynamic_cast<OwnBody*>(body_.get())),
      parts_(std::move(parts)),
      signer_(std::move(signer)),
      is_batch_(is_batch) {
  if (signer_ && signer_->empty()) signer_.reset();
}

std::optional<std::string_view> WebhookRequest::write(std::string& buffer,
                                                      std::span<const model::Delivery> deliveries,
                                                      std::string_view authorization,
                                                      base::Instant now, Unwritable& unwritable) {
  if (!begin_head(deliveries, unwritable)) return std::nullopt;
  if (!authorization.empty()) head_.append("authorization: ").append(authorization).append("\r\n");

  // The head's length is known only when the body is signed: the body is written behind enough room
  // for it, and the head then put straight before it, so that one write sends both.
  size_t room = head_.size() + kRoomForTheRest;
  buffer.resize(room);
  if (!write_body(buffer, deliveries, unwritable)) return std::nullopt;
  end_head(std::string_view(buffer).substr(room), now);
  if (head_.size() > room) {  // a signer with many secrets
    buffer.insert(0, head_.size() - room, ' ');
    room = head_.size();
  }
  const size_t start = room - head_.size();
  head_.copy(buffer.data() + start, head_.size());
  return std::string_view(buffer).substr(start);
}

bool WebhookRequest::begin_head(std::span<const model::Delivery> deliveries,
                                Unwritable& unwritable) {
  head_ = start_;
  if (is_batch_) return true;
  const auto begun = begin_head(deliveries.front().outcome);
  if (!begun) unwritable.emplace_back(0, begun.error().text);
  return begun.ok();
}

// Of the one outcome.
Result<void> WebhookRequest::begin_head(const model::Outcome& outcome) {
  if (parts_.ask_the_event()) {
    event_.read(outcome);
    if (auto line = parts_.append_request_line(head_, event_); !line) return line;
    head_ += host_;
    if (auto fields = parts_.append_fields(head_, event_); !fields) return fields;
  }
  return body_->add_fields(head_, outcome);
}

// Leaves the message's id behind.
bool WebhookRequest::write_body(std::string& buffer, std::span<const model::Delivery> deliveries,
                                Unwritable& unwritable) {
  std::string ids;
  size_t said = 0;
  body_->begin(buffer);
  for (size_t i = 0; i < deliveries.size(); ++i) {
    id_ = model::event_id(deliveries[i].outcome);
    const auto added =
        is_id(id_) ? add_to_body(buffer, deliveries[i].outcome)
                   : Result<void>(base::input_error("the outcome's id cannot stand in a header"));
    if (!added) {
      unwritable.emplace_back(i, added.error().text);
      continue;
    }
    ++said;
    if (is_batch_) ids.append(id_).append("\n");
  }
  body_->end(buffer);
  if (is_batch_) id_ = "batch-" + base::hex(base::sha256(ids)).substr(0, 32);
  return said > 0;
}

Result<void> WebhookRequest::add_to_body(std::string& buffer, const model::Outcome& outcome) {
  const bool was_read = own_body_ != nullptr && !is_batch_ && parts_.ask_the_event();
  return was_read ? own_body_->add(buffer, event_) : body_->add(buffer, outcome);
}

void WebhookRequest::end_head(std::string_view body, base::Instant now) {
  const Digits timestamp(base::to_millis(now) / 1000);
  head_.append("webhook-id: ").append(id_).append("\r\nwebhook-timestamp: ").append(timestamp);
  if (signer_) {
    head_ += "\r\nwebhook-signature: ";
    signer_->append(head_, id_, timestamp, body);
  }
  head_.append("\r\ncontent-length: ")
      .append(Digits(static_cast<int64_t>(body.size())))
      .append("\r\n\r\n");
}

}  // namespace girdle::delivery
