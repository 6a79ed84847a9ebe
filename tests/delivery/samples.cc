// Prints what this program signs and writes, one JSON object a line, for checks by other people's
// libraries (tests/npm/verify_webhooks.mjs): {"secrets", "id", "timestamp", "signature", "body"}
// for events, {"reading"} for readings.
#include <array>
#include <iostream>

#include "base/json.h"
#include "delivery/sample_outcomes.h"
#include "delivery/signature.h"
#include "model/record.h"

namespace girdle::delivery {
namespace {

constexpr std::string_view kSecrets[] = {"whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
                                         "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD"};

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

void print(const model::Outcome& outcome, size_t secrets) {
  std::vector<Secret> keys;
  for (size_t i = 0; i < secrets; ++i) keys.push_back(Secret::parse(kSecrets[i]).value());
  std::string event, signature, line;
  model::write_event(event, outcome);
  Signer(keys).append(signature, model::event_id(outcome), "1793614530", event);
  base::JsonWriter json(line);
  json.begin_object().key("secrets").begin_array();
  for (size_t i = 0; i < secrets; ++i) json.text(kSecrets[i]);
  json.end_array().member("id", std::string_view(model::event_id(outcome)));
  json.member("timestamp", "1793614530").member("signature", std::string_view(signature));
  json.member("body", std::string_view(event)).end_object();
  std::cout << line << "\n";
}

void print_all() {
  for (const model::Outcome& outcome : outcomes()) {
    print(outcome, 1);
    print(outcome, 2);
  }
  for (const model::Reading& reading : readings()) {
    std::string json;
    model::write_json(json, reading);
    std::cout << "{\"reading\":" << json << "}\n";
  }
}

}  // namespace
}  // namespace girdle::delivery

int main() { girdle::delivery::print_all(); }
