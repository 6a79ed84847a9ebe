#include "casework/decide.h"

#include <algorithm>

namespace girdle::casework {
namespace {

using base::Decimal;
using model::Decision;
using model::Disposition;
using model::Evidence;
using policy::Value;

Decision hold(Evidence evidence, std::string reason) {
  return {Disposition::kHold, std::move(reason), 0, std::move(evidence)};
}

const std::string* word_of(const Value* value) {
  return value ? std::get_if<std::string>(value) : nullptr;
}

// Of all records of a decision, the values of one output.
std::vector<const Value*> all_of(const policy::Decision& decided, std::string_view output) {
  const auto at = std::ranges::find(decided.names(), output);
  std::vector<const Value*> values;
  if (at == decided.names().end()) return values;
  for (size_t i = 0; i < decided.records(); ++i) {
    values.push_back(&decided.record(i)[static_cast<size_t>(at - decided.names().begin())]);
  }
  return values;
}

}  // namespace

int required_runs(const Evidence& evidence, const House& house) {
  if (!house.required_table) return house.required;
  const policy::Decision decided = house.required_table->evaluate(evidence, house.settings);
  if (decided.kind == policy::Decision::Kind::kNoRule) return house.required;
  if (decided.kind == policy::Decision::Kind::kError) return 0;
  int64_t most = 0;
  for (const Value* value : all_of(decided, "required")) {
    const auto* number = std::get_if<Decimal>(value);
    const auto runs = number ? number->as_integer() : std::nullopt;
    if (!runs || *runs < 1 || *runs > kMostRequired) return 0;
    most = std::max(most, *runs);
  }
  return static_cast<int>(most);
}

Decision decide(Evidence evidence, const House& house) {
  if (evidence.required < 1) return hold(std::move(evidence), "policy_error");
  const policy::Decision decided = house.table.evaluate(evidence, house.settings);
  switch (decided.kind) {
    case policy::Decision::Kind::kNoRule:
      return hold(std::move(evidence), "no_rule");
    case policy::Decision::Kind::kError:
      return hold(std::move(evidence), "policy_error");
    case policy::Decision::Kind::kDecided:
      break;
  }
  const std::string* word = word_of(decided.output("disposition"));
  const std::string* reason = word_of(decided.output("reason"));
  const auto disposition = word ? model::disposition_of(*word) : std::nullopt;
  if (!disposition) return hold(std::move(evidence), "policy_error");
  return {*disposition, reason ? *reason : "no_reason_given",
          decided.rules.empty() ? 0 : decided.rules.front(), std::move(evidence)};
}

std::optional<std::vector<std::string>> outlets_for(const Decision& decision,
                                                    std::optional<Disposition> previous,
                                                    const House& house) {
  if (!house.routing) return std::nullopt;
  const Answer answer{decision.disposition, decision.reason, previous};
  const policy::Decision decided =
      house.routing->evaluate(decision.evidence, house.settings, &answer);
  if (decided.kind == policy::Decision::Kind::kError) return std::nullopt;
  std::vector<std::string> outlets;
  if (decided.kind == policy::Decision::Kind::kNoRule) return outlets;
  for (const Value* value : all_of(decided, "outlet")) {
    const std::string* name = word_of(value);
    if (!name) return std::nullopt;
    outlets.push_back(*name);
  }
  std::ranges::sort(outlets);
  outlets.erase(std::unique(outlets.begin(), outlets.end()), outlets.end());
  return outlets;
}

}  // namespace girdle::casework
