#include "delivery/standard_bodies.h"

#include "base/json.h"
#include "base/percent.h"
#include "base/text.h"
#include "delivery/epcis_body.h"

namespace girdle::delivery {
namespace {

constexpr std::string_view kJson = "application/json";

// No attribute may hold a control character or one that Unicode says is none (CloudEvents 1.0.2,
// type system, String). Of well-formed UTF-8.
bool has_forbidden(std::string_view text) {
  const auto byte = [&](size_t i) { return i < text.size() ? static_cast<uint8_t>(text[i]) : 0; };
  for (size_t i = 0; i < text.size(); ++i) {
    const uint8_t b = byte(i);
    if (b < 0x20 || b == 0x7f) return true;
    if (b == 0xc2 && byte(i + 1) < 0xa0) return true;  // U+0080 to U+009F
    if (b == 0xef && byte(i + 1) == 0xb7 && byte(i + 2) >= 0x90 && byte(i + 2) <= 0xaf)
      return true;                                                             // U+FDD0 …
    if (b == 0xef && byte(i + 1) == 0xbf && byte(i + 2) >= 0xbe) return true;  // U+FFFE, U+FFFF
    if (b >= 0xf0 && (byte(i + 1) & 0x0f) == 0x0f && byte(i + 2) == 0xbf && byte(i + 3) >= 0xbe)
      return true;
  }
  return false;
}

// Of the attributes only the subject is a person's text: `source` is percent-encoded, the rest is
// ours.
base::Result<void> can_be_subject(const model::Outcome& outcome) {
  for (const std::string_view text :
       {std::string_view(outcome.stock_number), std::string_view(outcome.position)}) {
    if (!base::is_utf8(text) || has_forbidden(text)) {
      return base::input_error(
          "the stock number " +
          base::in_quotes(model::subject_key(outcome.stock_number, outcome.position)) +
          " has a character that the subject of a CloudEvents event cannot have: a control "
          "character, or one that is none in Unicode");
    }
  }
  return {};
}

// One event a message; in a folder one a line.
class StructuredBody final : public Body {
 public:
  explicit StructuredBody(bool is_lines) : is_lines_(is_lines) {}

  std::string_view content_type() const override {
    return "application/cloudevents+json; charset=utf-8";
  }
  std::string_view extension() const override { return is_lines_ ? "jsonl" : "json"; }

  base::Result<void> add(std::string& out, const model::Outcome& outcome) override {
    if (auto fits = can_be_subject(outcome); !fits) return fits;
    model::write_event(out, outcome);
    if (is_lines_) out += '\n';
    return {};
  }

 private:
  const bool is_lines_;
};

// The attributes as header fields, the data as body.
class BinaryBody final : public Body {
 public:
  std::string_view content_type() const override { return kJson; }
  std::string_view extension() const override { return "json"; }

  base::Result<void> add(std::string& out, const model::Outcome& outcome) override {
    if (auto fits = can_be_subject(outcome); !fits) return fits;
    model::write_json(out, outcome);
    return {};
  }

  base::Result<void> add_fields(std::string& head, const model::Outcome& outcome) override {
    if (auto fits = can_be_subject(outcome); !fits) return fits;
    for (const auto& [name, value] : model::event_attributes(outcome)) {
      head.append("ce-").append(name).append(": ");
      append_header_value(head, value);
      head += "\r\n";
    }
    return {};
  }
};

class BatchBody final : public Body {
 public:
  std::string_view content_type() const override {
    return "application/cloudevents-batch+json; charset=utf-8";
  }
  std::string_view extension() const override { return "json"; }

  void begin(std::string& out) override {
    out += '[';
    is_first_ = true;
  }

  base::Result<void> add(std::string& out, const model::Outcome& outcome) override {
    if (auto fits = can_be_subject(outcome); !fits) return fits;
    if (!is_first_) out += ',';
    is_first_ = false;
    model::write_event(out, outcome);
    return {};
  }

  void end(std::string& out) override { out += ']'; }

 private:
  bool is_first_ = true;
};

// The payload that Standard Webhooks recommends. What CloudEvents calls the id stands in the header
// webhook-id.
class WebhookBody final : public Body {
 public:
  explicit WebhookBody(bool is_lines) : is_lines_(is_lines) {}

  std::string_view content_type() const override { return kJson; }
  std::string_view extension() const override { return is_lines_ ? "jsonl" : "json"; }

  base::Result<void> add(std::string& out, const model::Outcome& outcome) override {
    base::JsonWriter json(out);
    json.begin_object().member("type", model::kEventType);
    json.member("timestamp", std::string_view(base::format_rfc3339(outcome.decided_at)));
    data_.clear();
    model::write_json(data_, outcome);
    json.key("data").raw(data_).end_object();
    if (is_lines_) out += '\n';
    return {};
  }

 private:
  const bool is_lines_;
  std::string data_;
};

}  // namespace

void append_header_value(std::string& out, std::string_view value) {
  for (const char c : value) {
    if (base::is_visible(c) && c != '"' && c != '%') {
      out += c;
    } else {
      base::append_percent(out, c);
    }
  }
}

std::unique_ptr<Body> make_standard_body(const config::Outlet& outlet, const config::Report& report,
                                         const base::Zone& zone) {
  const bool is_lines = outlet.folder.has_value();
  switch (outlet.body.kind) {
    case config::Body::Kind::kStructured:
      return std::make_unique<StructuredBody>(is_lines);
    case config::Body::Kind::kBinary:
      return std::make_unique<BinaryBody>();
    case config::Body::Kind::kBatch:
      return std::make_unique<BatchBody>();
    case config::Body::Kind::kWebhook:
      return std::make_unique<WebhookBody>(is_lines);
    case config::Body::Kind::kEpcis:
      return make_epcis_body(outlet.body, zone, report);
    default:
      return nullptr;  // bodies of the house's own
  }
}

}  // namespace girdle::delivery
