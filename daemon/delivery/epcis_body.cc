#include "delivery/epcis_body.h"

#include <algorithm>
#include <cstdio>
#include <optional>

#include "base/json.h"
#include "base/text.h"
#include "delivery/base64.h"
#include "delivery/name_uuid.h"
#include "delivery/uri_text.h"

namespace girdle::delivery {
namespace {

using model::Disposition;
using model::Outcome;

// Of event ids. Drawn for this purpose; never to be changed, or receivers take each event for a new
// one.
constexpr Uuid kEventSpace = {0xe7, 0x05, 0x42, 0x84, 0x7a, 0x25, 0x4e, 0xd2,
                              0x81, 0x49, 0x78, 0x54, 0x4d, 0x10, 0x37, 0xa2};

// The context of the standard, and the name space of what it has no field for.
constexpr std::string_view kBeginning =
    R"({"@context":["https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld",{"girdle":"urn:girdle:"}],)"
    R"("type":"EPCISDocument","schemaVersion":"2.0","epcisBody":{"eventList":[)";
constexpr std::string_view kFindingType = "urn:girdle:finding";
constexpr const char* kNotForSale = "non_sellable_other";

std::string event_uri(const Outcome& outcome) {
  return "urn:uuid:" + name_uuid(kEventSpace, model::event_id(outcome));
}

const char* step_of(Disposition disposition) {
  return disposition == Disposition::kHold || disposition == Disposition::kRefer ? "holding"
                                                                                 : "inspecting";
}

const char* state_of(Disposition disposition) {
  switch (disposition) {
    case Disposition::kRelease:
      return "conformant";
    case Disposition::kReject:
      return "non_conformant";
    case Disposition::kRepeat:
    case Disposition::kHold:
    case Disposition::kRefer:
      break;
  }
  return kNotForSale;
}

// "+01:00".
std::string offset_text(int64_t seconds) {
  const int64_t minutes = (seconds < 0 ? -seconds : seconds) / 60;
  char text[16];
  std::snprintf(text, sizeof text, "%c%02d:%02d", seconds < 0 ? '-' : '+',
                static_cast<int>(minutes / 60), static_cast<int>(minutes % 60));
  return text;
}

std::optional<uint8_t> hex_digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<uint8_t>(c - '0');
  if (c >= 'a' && c <= 'f') return static_cast<uint8_t>(c - 'a' + 10);
  return std::nullopt;
}

// "sha256:…" as a URI that names a document by its digest (RFC 6920): base64 in the alphabet for
// URLs, without padding. Nothing for any other text.
std::string digest_uri(std::string_view digest) {
  static constexpr std::string_view kName = "sha256:";
  if (!digest.starts_with(kName) || digest.size() != kName.size() + 64) return {};
  digest.remove_prefix(kName.size());
  std::array<uint8_t, 32> bytes;
  for (size_t i = 0; i < bytes.size(); ++i) {
    const auto high = hex_digit(digest[2 * i]), low = hex_digit(digest[2 * i + 1]);
    if (!high || !low) return {};
    bytes[i] = static_cast<uint8_t>(*high << 4 | *low);
  }
  std::string uri = "ni:///sha-256;";
  const size_t start = uri.size();
  append_base64(uri, bytes);
  std::replace(uri.begin() + static_cast<ptrdiff_t>(start), uri.end(), '+', '-');
  std::replace(uri.begin() + static_cast<ptrdiff_t>(start), uri.end(), '/', '_');
  uri.erase(uri.find_last_not_of('=') + 1);
  return uri;
}

struct Places {
  UriPattern item;
  std::string location;  // empty: not told
  std::optional<UriPattern> reader;
};

class EpcisBody final : public Body {
 public:
  EpcisBody(Places places, const base::Zone& zone) : places_(std::move(places)), zone_(zone) {}

  std::string_view content_type() const override { return "application/json"; }
  std::string_view extension() const override { return "jsonld"; }

  void begin(std::string& out) override {
    out += kBeginning;
    is_first_ = true;
    newest_ = base::Instant{};
  }

  base::Result<void> add(std::string& out, const Outcome& outcome) override {
    if (model::takes_back(outcome)) {
      for (const Outcome& wrong : outcome.taken_back) write_event(out, wrong, &outcome);
    }
    write_event(out, outcome, nullptr);
    newest_ = std::max(newest_, outcome.decided_at);
    return {};
  }

  // The document is as old as what it says: so that the same outcomes give the same bytes at every
  // attempt.
  void end(std::string& out) override {
    out += "]},\"creationDate\":\"";
    base::append_rfc3339(out, newest_);
    out += "\"}";
  }

  // The capture interface of the standard's HTTP binding. `proceed`: an event that the repository
  // refuses takes no others of its document with it; it tells only later, in a job that nobody of
  // ours reads.
  base::Result<void> add_fields(std::string& head, const Outcome& /*outcome*/) override {
    head +=
        "GS1-EPCIS-Version: 2.0.0\r\n"
        "GS1-CBV-Version: 2.0.0\r\n"
        "GS1-Capture-Error-Behaviour: proceed\r\n";
    return {};
  }

 private:
  // With a `corrective` outcome the declaration that what this one said was an error.
  void write_event(std::string& out, const Outcome& o, const Outcome* corrective) {
    if (!is_first_) out += ',';
    is_first_ = false;
    const Disposition disposition = o.decision.disposition;
    base::JsonWriter json(out);
    json.begin_object()
        .member("type", "ObjectEvent")
        .member("eventID", std::string_view(event_uri(o)));
    json.member("eventTime", std::string_view(base::format_rfc3339(o.decided_at)));
    json.member("eventTimeZoneOffset",
                std::string_view(offset_text(zone_.offset_seconds(o.decided_at))));
    if (corrective != nullptr) write_error(json, *corrective);
    json.key("epcList").begin_array().text(
        places_.item.with(model::subject_key(o.stock_number, o.position)));
    json.end_array().member("action", "OBSERVE");
    json.member("bizStep", step_of(disposition)).member("disposition", state_of(disposition));
    json.key("persistentDisposition").begin_object();
    json.key(disposition == Disposition::kRelease ? "unset" : "set")
        .begin_array()
        .text(kNotForSale);
    json.end_array().end_object();
    for (const std::string_view place : {"readPoint", "bizLocation"}) {
      if (!places_.location.empty())
        json.key(place).begin_object().member("id", places_.location).end_object();
    }
    write_sensors(json, o);
    write_own(json, o);
    json.end_object();
  }

  static void write_error(base::JsonWriter& json, const Outcome& corrective) {
    json.key("errorDeclaration").begin_object();
    json.member("declarationTime", std::string_view(base::format_rfc3339(corrective.decided_at)));
    json.member("reason", corrective.merged_into.empty() ? "did_not_occur" : "incorrect_data");
    json.key("correctiveEventIDs")
        .begin_array()
        .text(event_uri(corrective))
        .end_array()
        .end_object();
  }

  // Who said what, how often. The policy with the settings of instruments, one document by its
  // digest, is both how the runs were sifted and by which rules the event came about.
  void write_sensors(base::JsonWriter& json, const Outcome& o) const {
    const model::Evidence& evidence = o.decision.evidence;
    if (evidence.valid + evidence.voids + evidence.discounted == 0) return;
    json.key("sensorElementList").begin_array();
    for (const model::Said& said : evidence.said) {
      write_sensor(json, o, said.instrument, model::text(said.finding), said.runs);
    }
    if (evidence.said.empty())
      write_sensor(json, o, {}, model::text(evidence.finding), evidence.valid);
    json.end_array();
  }

  void write_sensor(base::JsonWriter& json, const Outcome& o, std::string_view instrument,
                    std::string_view finding, int64_t runs) const {
    const std::string rules = digest_uri(o.policy.digest);
    const bool is_known = places_.reader && !instrument.empty();
    json.begin_object();
    if (is_known || !rules.empty()) {
      json.key("sensorMetadata").begin_object();
      if (is_known) json.member("deviceID", std::string_view(places_.reader->with(instrument)));
      if (!rules.empty()) {
        json.member("dataProcessingMethod", std::string_view(rules))
            .member("bizRules", std::string_view(rules));
      }
      json.end_object();
    }
    json.key("sensorReport").begin_array().begin_object();
    json.member("type", kFindingType).member("stringValue", finding).member("girdle:runs", runs);
    json.end_object().end_array().end_object();
  }

  // What the standard has no field for, in our words (schemas/outcome.schema.json). Nothing of what
  // was declared: that may be a customer's. No text for people but the notice: a declaration of
  // error has to repeat all of it.
  static void write_own(base::JsonWriter& json, const Outcome& o) {
    json.member("girdle:case", std::string_view(o.case_id)).member("girdle:sequence", o.sequence);
    json.member("girdle:site", std::string_view(o.site)).member("girdle:kind", model::text(o.kind));
    json.member("girdle:stock_number", std::string_view(o.stock_number));
    if (!o.position.empty()) json.member("girdle:position", std::string_view(o.position));
    json.member("girdle:disposition", model::text(o.decision.disposition));
    json.member("girdle:reason", std::string_view(o.decision.reason));
    json.member("girdle:finding", model::text(o.decision.evidence.finding));
    if (!o.merged_into.empty()) json.member("girdle:merged_into", std::string_view(o.merged_into));
    json.member("girdle:policy_name", std::string_view(o.policy.name));
    json.member("girdle:policy_version", std::string_view(o.policy.version));
    json.member("girdle:policy_digest", std::string_view(o.policy.digest));
    json.member("girdle:rule", static_cast<int64_t>(o.decision.rule))
        .member("girdle:notice", model::kNotice);
  }

  const Places places_;
  const base::Zone zone_;
  bool is_first_ = true;
  base::Instant newest_{};
};

std::optional<UriPattern> pattern(const config::Text& text, std::string_view place,
                                  const config::Report& report) {
  auto compiled = UriPattern::compile(text.text, place);
  if (!compiled) {
    report(text.mark, compiled.error().text);
    return std::nullopt;
  }
  return std::move(*compiled);
}

}  // namespace

std::unique_ptr<Body> make_epcis_body(const config::Body& body, const base::Zone& zone,
                                      const config::Report& report) {
  const config::Body::Epcis& epcis = body.epcis;
  const size_t before = report.count();
  auto item = pattern(epcis.item, "stock_number", report);
  std::optional<UriPattern> reader;
  if (!epcis.reader.text.empty()) reader = pattern(epcis.reader, "instrument", report);
  if (!epcis.location.text.empty() && !is_uri(epcis.location.text)) {
    report(epcis.location.mark,
           base::in_quotes(epcis.location.text, 200) +
               " is no URI; right would be \"https://quay-street.example/shop\"");
  }
  if (report.count() != before || !item) return nullptr;
  return std::make_unique<EpcisBody>(
      Places{std::move(*item), epcis.location.text, std::move(reader)}, zone);
}

}  // namespace girdle::delivery
