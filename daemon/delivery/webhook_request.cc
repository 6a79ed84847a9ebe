#include "delivery/webhook_request.h"

#include <algorithm>
#include <charconv>

namespace girdle::delivery {
namespace {

constexpr size_t kLongestId = 256;
// For an id, a timestamp, two signatures, a length and the names of their headers.
constexpr size_t kRoomBesideFixed = 512 + kLongestId;

// Visible ASCII: no CR or LF gets from a ledger into a header.
bool is_header_word(std::string_view text) {
  return !text.empty() && text.size() <= kLongestId &&
         std::all_of(text.begin(), text.end(), [](char c) { return c > ' ' && c < '\x7f'; });
}

struct Digits {
  explicit Digits(int64_t number) : end(std::to_chars(bytes, bytes + sizeof bytes, number).ptr) {}
  operator std::string_view() const { return {bytes, static_cast<size_t>(end - bytes)}; }
  char bytes[24];
  char* end;
};

}  // namespace

WebhookRequest::WebhookRequest(const Url& url, Signer signer) : signer_(std::move(signer)) {
  fixed_ = "POST " + url.target + " HTTP/1.1\r\nhost: " + url.authority +
           "\r\nuser-agent: girdled\r\ncontent-type: application/cloudevents+json; "
           "charset=utf-8\r\nwebhook-id: ";
}

base::Result<std::string_view> WebhookRequest::write(std::string& buffer,
                                                     const model::Outcome& outcome,
                                                     base::Instant now) {
  const std::string id = model::event_id(outcome);
  if (!is_header_word(id)) return base::input_error("the outcome's id cannot stand in a header");

  // The head's length is known only when the body is signed: the body is written behind enough room
  // for it, and the head then put straight before it, so that one write sends both.
  const size_t room = fixed_.size() + kRoomBesideFixed;
  buffer.resize(room);
  model::write_event(buffer, outcome);
  const std::string_view body = std::string_view(buffer).substr(room);
  const Digits timestamp(base::to_millis(now) / 1000);
  head_.assign(fixed_).append(id);
  head_.append("\r\nwebhook-timestamp: ").append(timestamp).append("\r\nwebhook-signature: ");
  signer_.append(head_, id, timestamp, body);
  head_.append("\r\ncontent-length: ")
      .append(Digits(static_cast<int64_t>(body.size())))
      .append("\r\n\r\n");

  const size_t start = room - head_.size();
  head_.copy(buffer.data() + start, head_.size());
  return std::string_view(buffer).substr(start);
}

}  // namespace girdle::delivery
