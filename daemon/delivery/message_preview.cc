#include "delivery/message_preview.h"

#include "delivery/body.h"
#include "delivery/file_names.h"
#include "delivery/webhook_request.h"
#include "delivery/webhook_sender.h"

namespace girdle::delivery {
namespace {

std::optional<MessagePreview> preview_file(const config::Outlet& outlet, const model::Outcome& outcome,
                                           const base::Zone& zone, base::Instant now, const config::Report& report) {
  const auto body = make_body(outlet, zone, report);
  const auto names = FileNames::compile(*outlet.folder, body ? body->extension() : "txt", report);
  if (!body || !names) return std::nullopt;
  MessagePreview preview;
  body->begin(preview.bytes);
  if (auto added = body->add(preview.bytes, outcome); !added) return MessagePreview{{}, {}, added.error().text};
  body->end(preview.bytes);
  preview.file = names->name(outcome, 1, now).whole();
  return preview;
}

std::string_view hidden_credentials(const config::Webhook& webhook) {
  if (webhook.basic) return "Basic (hidden)";
  return webhook.bearer.given() || webhook.oauth ? "Bearer (hidden)" : "";
}

}  // namespace

std::optional<MessagePreview> preview_message(const config::Outlet& outlet, const model::Outcome& outcome,
                                              const base::Zone& zone, base::Instant now, const config::Report& report) {
  if (outlet.folder) return preview_file(outlet, outcome, zone, now, report);
  const auto request = open_request(outlet, zone, report);
  if (!request) return std::nullopt;
  model::Delivery delivery;
  delivery.outcome = outcome;
  MessagePreview preview;
  WebhookRequest::Unwritable unwritable;
  std::string buffer;
  if (const auto bytes = request->write(buffer, {&delivery, 1}, hidden_credentials(outlet.webhook), now, unwritable)) {
    preview.bytes = *bytes;
  } else if (!unwritable.empty()) {
    preview.unwritable = unwritable.front().second;
  }
  return preview;
}

}  // namespace girdle::delivery
