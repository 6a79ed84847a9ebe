#include "api/case_line.h"

#include "base/json.h"
#include "base/time.h"

namespace girdle::api {
namespace {

void write_reason(base::JsonWriter& json, const model::Outcome& outcome) {
  const std::string& code = outcome.decision.reason;
  const bool told = !outcome.reasons.empty();
  json.key("reason").begin_object().member("code", std::string_view(told ? outcome.reasons.front().code : code));
  json.member("text", std::string_view(told ? outcome.reasons.front().text : code)).end_object();
}

void write_by_hand(base::JsonWriter& json, const model::Outcome& outcome) {
  json.key("by_hand");
  if (!outcome.by_hand) {
    json.null();
    return;
  }
  json.begin_object().member("who", std::string_view(outcome.by_hand->who));
  json.member("why", std::string_view(outcome.by_hand->why)).end_object();
}

void write_counts(base::JsonWriter& json, const model::Evidence& evidence) {
  json.key("readings").begin_object().member("valid", int64_t{evidence.valid}).member("void", int64_t{evidence.voids});
  json.member("discounted", int64_t{evidence.discounted}).member("required", int64_t{evidence.required}).end_object();
}

}  // namespace

std::string_view text(ledger::CaseState state) {
  switch (state) {
    case ledger::CaseState::kOpen: return "open";
    case ledger::CaseState::kMerged: return "merged";
    case ledger::CaseState::kEmpty: return "empty";
  }
  return {};
}

base::Result<std::string> case_line(Teller& teller, const ledger::CaseLine& line) {
  auto told = teller.outcome(line.row.number, line.row.sequence);
  if (!told) return told.error();
  const model::Outcome& outcome = *told;
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().member("id", std::string_view(line.case_id)).member("key", std::string_view(line.key));
  json.member("stock_number", std::string_view(outcome.stock_number)).member_or_null("position", outcome.position);
  json.member("state", text(line.row.state)).member("sequence", outcome.sequence);
  json.member("disposition", model::text(outcome.decision.disposition));
  json.member("finding", model::text(outcome.decision.evidence.finding));
  write_reason(json, outcome);
  write_by_hand(json, outcome);
  write_counts(json, outcome.decision.evidence);
  json.member("first_measured_at", std::string_view(base::format_rfc3339(line.row.first_at)));
  json.member("last_measured_at", std::string_view(base::format_rfc3339(line.row.last_at)));
  json.member("decided_at", std::string_view(base::format_rfc3339(outcome.decided_at))).end_object();
  return out;
}

base::Result<std::string> case_line(Teller& teller, ledger::Number case_number) {
  auto line = teller.ledger().case_line(case_number);
  if (!line) return line.error();
  if (!*line) return base::input_error("the ledger has no case " + teller.ledger().case_id(case_number));
  return case_line(teller, **line);
}

}  // namespace girdle::api
