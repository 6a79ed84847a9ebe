#include "model/outcome.h"

#include <cstdio>

#include "base/json.h"
#include "base/percent.h"
#include "base/time.h"

namespace girdle::model {
namespace {

void write_declared(base::JsonWriter& json, const std::optional<Declaration>& declared) {
  json.key("declared").begin_object();
  if (declared) {
    const auto decimal = [&](std::string_view name, const std::optional<base::Decimal>& value) {
      if (value) json.member(name, std::string_view(value->text()));
    };
    const auto word = [&](std::string_view name, const std::string& value) {
      if (!value.empty()) json.member(name, std::string_view(value));
    };
    if (declared->identity) json.member("identity", text(*declared->identity));
    decimal("carat", declared->carat);
    word("color", declared->color);
    word("shape", declared->shape);
    word("mount", declared->mount);
    decimal("stones", declared->stones);
    decimal("value", declared->value);
    word("channel", declared->channel);
  }
  json.end_object();
}

void write_by_hand(base::JsonWriter& json, const std::optional<ByHand>& by_hand) {
  json.key("by_hand");
  if (!by_hand) {
    json.null();
    return;
  }
  json.begin_object().member("who", std::string_view(by_hand->who));
  json.member("why", std::string_view(by_hand->why)).end_object();
}

void write_disclosure(base::JsonWriter& json, const Disclosure& disclosure) {
  const auto words = [&](std::string_view name, std::span<const std::string_view> all) {
    json.key(name).begin_array();
    for (const std::string_view word : all) json.text(word);
    json.end_array();
  };
  json.key("disclosure").begin_object().member("market", disclosure.market).member("rule", disclosure.title);
  json.member("source", disclosure.source);
  words("words", disclosure.allowed);
  words("barred", disclosure.barred);
  json.member("caution", disclosure.caution).end_object();
}

}  // namespace

bool takes_back(const Outcome& outcome) {
  const Evidence& e = outcome.decision.evidence;
  const bool is_empty = e.valid + e.voids + e.discounted == 0;
  return outcome.sequence > 1 && (is_empty || !outcome.merged_into.empty());
}

std::string event_id(const Outcome& outcome) { return outcome.case_id + "-" + std::to_string(outcome.sequence); }

void write_json(std::string& out, const Outcome& o) {
  const Evidence& evidence = o.decision.evidence;
  base::JsonWriter json(out);
  json.begin_object();
  json.member("case", std::string_view(o.case_id));
  json.member("sequence", o.sequence);
  json.member("site", std::string_view(o.site));
  json.key("subject").begin_object();
  json.member("kind", text(o.kind));
  json.member("stock_number", std::string_view(o.stock_number));
  json.member_or_null("position", o.position);
  json.end_object();
  json.member("disposition", text(o.decision.disposition));
  json.member_or_null("previous_disposition", o.previous ? text(*o.previous) : std::string_view());
  json.member("finding", text(evidence.finding));
  json.key("reasons").begin_array();
  for (const Reason& reason : o.reasons) {
    json.begin_object().member("code", std::string_view(reason.code));
    json.member("text", std::string_view(reason.text)).end_object();
  }
  json.end_array();
  write_by_hand(json, o.by_hand);
  json.key("readings").begin_object();
  json.member("valid", static_cast<int64_t>(evidence.valid));
  json.member("void", static_cast<int64_t>(evidence.voids));
  json.member("discounted", static_cast<int64_t>(evidence.discounted));
  json.member("duplicates", o.duplicates);
  json.member("required", static_cast<int64_t>(evidence.required));
  json.member("missing", static_cast<int64_t>(evidence.missing()));
  json.end_object();
  json.key("evidence").begin_object();
  json.member("scope", text(evidence.scope));
  json.member("instrument", text(evidence.instrument));
  json.member("instruments", static_cast<int64_t>(evidence.instruments));
  json.member("dissent", static_cast<int64_t>(evidence.dissent));
  write_detail(json, evidence);
  json.end_object();
  write_declared(json, o.declared);
  if (o.disclosure) write_disclosure(json, *o.disclosure);
  if (!o.merged_into.empty()) json.member("merged_into", std::string_view(o.merged_into));
  json.key("policy").begin_object();
  json.member("name", std::string_view(o.policy.name));
  json.member("version", std::string_view(o.policy.version));
  json.member("digest", std::string_view(o.policy.digest));
  json.member("rule", static_cast<int64_t>(o.decision.rule));
  json.end_object();
  json.member("decided_at", std::string_view(base::format_rfc3339(o.decided_at)));
  json.member("notice", kNotice);
  json.end_object();
}

std::array<EventAttribute, 7> event_attributes(const Outcome& o) {
  char sequence[24];
  std::snprintf(sequence, sizeof sequence, "%010lld", static_cast<long long>(o.sequence));
  return {{{"specversion", "1.0"},
           {"id", event_id(o)},
           {"source", "/sites/" + base::percent_encoded(o.site)},
           {"type", std::string(kEventType)},
           {"subject", subject_key(o.stock_number, o.position)},
           {"time", base::format_rfc3339(o.decided_at)},
           {"sequence", sequence}}};
}

void write_event(std::string& out, const Outcome& o) {
  base::JsonWriter json(out);
  json.begin_object();
  for (const auto& [name, value] : event_attributes(o)) json.member(name, std::string_view(value));
  json.member("datacontenttype", "application/json");
  json.key("data");
  std::string data;
  write_json(data, o);
  json.raw(data);
  json.end_object();
}

}  // namespace girdle::model
