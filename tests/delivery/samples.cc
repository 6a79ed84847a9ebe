// Prints what this program signs and writes, one JSON object a line, for checks by other people's
// libraries (tests/npm/verify_webhooks.mjs, verify_epcis.mjs): {"secrets", "id", "timestamp",
// "signature", "body"} for events, {"reading"} for readings, and {"form", "content_type", "head",
// "body", "events"} for messages in the forms of standards, with the events that they are of, and
// signed where it is one.
#include <array>
#include <cstdlib>
#include <iostream>

#include "base/json.h"
#include "delivery/sample_outcomes.h"
#include "delivery/signature.h"
#include "delivery/standard_bodies.h"
#include "model/record.h"

namespace girdle::delivery {
namespace {

constexpr std::string_view kSecrets[] = {"whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
                                         "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD",
                                         // RFC 9421 B.1.4, test-key-ed25519: a published example.
                                         "whsk_n4Ni+HpISpVObnQMW0wOhCKROaIKqKtW/2ZYb2p9KcU="};

base::Decimal decimal(std::string_view text) { return base::Decimal::parse(text).value(); }

model::Declaration declaration() {
  model::Declaration declared;
  declared.stock_number = "R1042";
  declared.identity = model::Finding::kNatural;
  declared.carat = decimal("0.53");
  declared.color = "F";
  declared.shape = "round";
  declared.mount = "ring";
  declared.stones = decimal("7");
  declared.value = decimal("1250.00");
  declared.channel = "counter";
  return declared;
}

std::vector<model::Outcome> outcomes() {
  std::vector<model::Outcome> all;
  for (const auto disposition :
       {model::Disposition::kRepeat, model::Disposition::kRelease, model::Disposition::kHold,
        model::Disposition::kRefer, model::Disposition::kReject}) {
    model::Outcome& outcome =
        all.emplace_back(sample_outcome(static_cast<int64_t>(all.size()) + 1, 1));
    outcome.decision.disposition = disposition;
  }
  for (int common = 0; common < 8; ++common) {
    model::Outcome& outcome = all.emplace_back(sample_outcome(20 + common, 2));
    outcome.decision.evidence.finding = static_cast<model::Evidence::Common>(common);
    outcome.decision.evidence.scope = static_cast<model::Scope>(common % 3);
    outcome.decision.evidence.instrument = static_cast<model::Fitness>(common % 3);
    outcome.previous = model::Disposition::kRepeat;
    outcome.decision.rule = common;
    outcome.duplicates = 3;
  }
  model::Outcome& by_hand = all.emplace_back(sample_outcome(41, 3));
  by_hand.by_hand = model::ByHand{"Kim", "seen under the microscope"};
  by_hand.decision.reason = "decided_by_hand";
  by_hand.decision.rule = 0;
  model::Outcome& declared = all.emplace_back(sample_outcome(42, 3));
  declared.declared = declaration();
  model::Outcome& piece = all.emplace_back(sample_outcome(43, 1));
  piece.kind = model::SubjectKind::kPiece;
  piece.position = "2";
  model::Outcome& parcel = all.emplace_back(sample_outcome(44, 999));
  parcel.kind = model::SubjectKind::kParcel;
  model::Outcome& merged = all.emplace_back(sample_outcome(45, 4));
  merged.merged_into = "q1-12";
  model::Outcome& odd = all.emplace_back(sample_outcome(46, 1));
  odd.site = "north-pier/2 \xc3\xa9t\xc3\xa9";
  odd.stock_number = "\xe2\x82\xac 12E4 \"x\"\\";
  odd.reasons.front().text = "a\tb\nc \xf0\x9f\x92\x8e";
  return all;
}

std::vector<model::Reading> readings() {
  model::Reading full;
  full.instrument = "A-0117";
  full.run = "0042";
  full.measured_at = base::from_millis(1793614530123);
  full.time_rule = "earlier";
  full.stock_number = "R1042";
  full.position = "2";
  full.subject_kind = model::SubjectKind::kPiece;
  full.finding = model::Finding::kNatural;
  full.diamond_type = model::DiamondType::kIIa;
  full.confidence = decimal("0.97");
  full.carat = decimal("0.53");
  full.color = "F";
  full.shape = "round";
  full.table_mm = decimal("3.1");
  full.length_mm = decimal("5.2");
  full.width_mm = decimal("5.1");
  full.depth_mm = decimal("3.2");
  full.temperature_c = decimal("-1.5");
  full.humidity_pct = decimal("40");
  full.operator_name = "M.";
  full.note = "second run";
  full.extra = {{"lamp", "2"}, {"mode", "auto"}};
  full.place = {.offset = 10, .length = 80, .line = 2};
  std::vector<model::Reading> all{full};
  for (int finding = 0; finding < model::kFindings; ++finding) {
    model::Reading& bare = all.emplace_back();
    bare.instrument = "A-0117";
    bare.measured_at = base::from_millis(0);
    bare.finding = static_cast<model::Finding>(finding);
  }
  return all;
}

// The members that tell of a signature with the first so many secrets.
void sign(base::JsonWriter& json, const std::string& id, std::string_view body, size_t secrets) {
  std::vector<Secret> keys;
  for (size_t i = 0; i < secrets; ++i) keys.push_back(Secret::parse(kSecrets[i]).value());
  std::string signature;
  Signer(keys).append(signature, id, "1793614530", body);
  json.key("secrets").begin_array();
  for (size_t i = 0; i < secrets; ++i) json.text(kSecrets[i]);
  json.end_array().member("id", std::string_view(id)).member("timestamp", "1793614530");
  json.member("signature", std::string_view(signature));
}

void print(const model::Outcome& outcome, size_t secrets) {
  std::string event, line;
  model::write_event(event, outcome);
  base::JsonWriter json(line);
  json.begin_object();
  sign(json, model::event_id(outcome), event, secrets);
  json.member("body", std::string_view(event)).end_object();
  std::cout << line << "\n";
}

struct Form {
  const char* name;
  config::Outlet outlet;
};

Form form(const char* name, config::Body::Kind kind, int count = 1, bool to_folder = false) {
  Form form{name, {}};
  form.outlet.body.kind = kind;
  form.outlet.batch.count = count;
  if (to_folder) form.outlet.folder.emplace();
  form.outlet.body.epcis.item.text = "https://quay-street.example/stock/{stock_number}";
  return form;
}

std::vector<Form> forms() {
  using Kind = config::Body::Kind;
  std::vector<Form> all{form("structured", Kind::kStructured), form("binary", Kind::kBinary),
                        form("batch", Kind::kBatch, 5),        form("webhook", Kind::kWebhook),
                        form("epcis", Kind::kEpcis),           form("epcis", Kind::kEpcis, 7)};
  Form& full = all.emplace_back(form("epcis", Kind::kEpcis, 3));
  full.outlet.body.epcis.item.text = "urn:epc:id:giai:9529999.{stock_number}";
  full.outlet.body.epcis.location.text = "urn:epc:id:sgln:9529999.00000.0";
  full.outlet.body.epcis.reader.text = "https://quay-street.example/instruments/{instrument}";
  all.push_back(form("structured lines", Kind::kStructured, 4, true));
  all.push_back(form("webhook lines", Kind::kWebhook, 4, true));
  return all;
}

std::unique_ptr<Body> body_of(const Form& form) {
  const std::string file = "samples";
  config::Problems problems;
  const auto zone = base::Zone::find("Europe/Brussels").value();
  auto body = make_standard_body(form.outlet, config::Report(file, problems), zone);
  for (const config::Problem& problem : problems) std::cerr << problem.text << "\n";
  if (!body) std::abort();
  return body;
}

// Beside those of every form: who said what, and outcomes that take back what was said before.
std::vector<model::Outcome> outcomes_for(const Form& form) {
  std::vector<model::Outcome> all = outcomes();
  if (std::string_view(form.name) != "epcis") return all;
  const std::vector<model::Outcome> plain = all;
  for (const model::Outcome& outcome : plain) {
    for (const char* into : {"q1-12", ""}) {
      model::Outcome before = outcome;
      before.case_id += *into == '\0' ? "e" : "m";
      before.decision.evidence.said = {{model::Finding::kNatural, "A-0117", 2},
                                       {model::Finding::kIndeterminate, "B/2 \xc3\xa9", 1}};
      model::Outcome after = before;
      after.sequence += 7;
      after.merged_into = into;
      after.decided_at += std::chrono::hours(1);
      after.taken_back = {before};
      if (after.merged_into.empty()) after.decision.evidence = {};
      all.push_back(std::move(before));
      all.push_back(std::move(after));
    }
  }
  return all;
}

void must(const base::Result<void>& done) {
  if (done) return;
  std::cerr << done.error().text << "\n";
  std::abort();
}

void print_message(const Form& form, Body& body, std::span<const model::Outcome> outcomes) {
  std::string head, text, line;
  body.begin(text);
  for (const model::Outcome& outcome : outcomes) must(body.add(text, outcome));
  body.end(text);
  if (!form.outlet.folder) must(body.add_fields(head, outcomes.front()));
  base::JsonWriter json(line);
  json.begin_object().member("form", form.name).member("content_type", body.content_type());
  json.member("head", std::string_view(head)).member("body", std::string_view(text));
  json.key("events").begin_array();
  for (const model::Outcome& outcome : outcomes) {
    std::string event;
    model::write_event(event, outcome);
    json.raw(event);
  }
  json.end_array();
  if (outcomes.size() == 1 && !form.outlet.folder) {
    sign(json, model::event_id(outcomes.front()), text, std::size(kSecrets));
  }
  json.end_object();
  std::cout << line << "\n";
}

void print_messages(const Form& form) {
  const std::unique_ptr<Body> body = body_of(form);
  const std::vector<model::Outcome> all = outcomes_for(form);
  const auto count = static_cast<size_t>(form.outlet.batch.count);
  for (size_t i = 0; i < all.size(); i += count) {
    print_message(form, *body, std::span(all).subspan(i, std::min(count, all.size() - i)));
  }
}

void print_all() {
  for (const model::Outcome& outcome : outcomes()) {
    print(outcome, 1);
    print(outcome, 2);
    print(outcome, 3);
  }
  for (const Form& form : forms()) print_messages(form);
  for (const model::Reading& reading : readings()) {
    std::string json;
    model::write_json(json, reading);
    std::cout << "{\"reading\":" << json << "}\n";
  }
}

}  // namespace
}  // namespace girdle::delivery

int main() { girdle::delivery::print_all(); }
