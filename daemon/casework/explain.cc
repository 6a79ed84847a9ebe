#include "casework/explain.h"

#include <algorithm>

#include "base/text.h"
#include "casework/decide.h"
#include "casework/what_if.h"
#include "evidence/carat.h"
#include "evidence/disclosure.h"

namespace girdle::casework {
namespace {

using model::Evidence;
using model::Finding;
using model::Reason;

struct DefaultReason {
  std::string_view code;
  std::string_view text;
};

// Ours, in English; a house may word them otherwise.
constexpr DefaultReason kReasons[] = {
    {"instrument_unfit",
     "The instrument is unfit: its readings do not count until it is verified."},
    {"no_valid_measurement", "No valid measurement yet: seat the stone again and measure."},
    {"cannot_be_measured",
     "Three or more runs gave no valid measurement: a person must look at the stone."},
    {"findings_differ", "The runs disagree: a gemmological laboratory decides."},
    {"outside_instrument_scope",
     "The stone is outside what the instrument can judge: a laboratory decides."},
    {"more_readings_needed", "More agreeing runs are needed before anything follows from them."},
    {"instrument_cannot_tell",
     "The instrument measured the stone and cannot tell: a laboratory decides."},
    {"as_declared", "The runs agree with what was declared."},
    {"simulant", "The runs agree on a simulant: not the diamond it was taken for."},
    {"not_as_declared", "The finding is not what was declared: a laboratory decides."},
    {"scope_unknown",
     "Nothing says that the instrument can judge this stone: its carat or colour is not known."},
    {"declared_otherwise", "The runs agree on natural, but it was declared as something else."},
    {"no_rule", "The policy has no rule for this: a person must look."},
    {"policy_error", "The policy could not be evaluated: a person must look."},
};

// Calls `text` for what stands between placeholders, and `name` for each of those.
template <class Text, class Name>
void split_wording(std::string_view wording, Text text, Name name) {
  while (true) {
    const size_t open = wording.find('{');
    if (open == std::string_view::npos) return text(wording);
    const size_t close = std::min(wording.find_first_of("{}", open + 1), wording.size());
    if (close == wording.size() || wording[close] == '{') {  // not closed, which check refuses
      name(wording.substr(open + 1, close - open - 1));
      return text(wording.substr(close));
    }
    text(wording.substr(0, open));
    name(wording.substr(open + 1, close - open - 1));
    wording.remove_prefix(close + 1);
  }
}

std::string filled(std::string_view wording, const Evidence& evidence, const House& house) {
  std::string out;
  split_wording(
      wording, [&](std::string_view text) { out += text; },
      [&](std::string_view name) {
        const auto place = place_of(name);
        if (!place) return;
        const policy::Value value = value_at(*place, evidence, house.settings, nullptr);
        out += policy::is_null(value) ? "unknown" : policy::plain_text(value);
      });
  return out;
}

std::string once_or_more(int count) {
  return count == 1 ? "once" : std::to_string(count) + " times";
}

// "A-0117 says natural (2 runs)"; of several: "A-0117 says natural (2 runs), B-0042 says simulant
// (1 run)".
std::string said_text(const Evidence& e) {
  if (e.valid == 0) return "No run gave a valid measurement that counts";
  if (!e.is_told())
    return base::counted(static_cast<uint64_t>(e.valid), "valid run") + ", together " +
           std::string(text(e.finding));
  std::string list;
  for (const model::Said& one : e.said) {
    if (!list.empty()) list += ", ";
    list += one.instrument + " says " + std::string(model::text(one.finding)) + " (" +
            base::counted(static_cast<uint64_t>(one.runs), "run") + ')';
  }
  return list;
}

std::string seen_text(const Evidence& e) {
  std::string text = said_text(e);
  if (e.voids > 0) text += "; void: " + base::counted(static_cast<uint64_t>(e.voids), "run");
  if (e.discounted > 0)
    text += "; not counted: " + base::counted(static_cast<uint64_t>(e.discounted), "run");
  text += ". Scope " + std::string(model::text(e.scope)) + "; declared " +
          std::string(e.declared ? model::text(*e.declared) : "nothing") + '.';
  return text;
}

std::string asked_text(const Evidence& e, const House& house) {
  std::string text = "Policy " + house.stamp.name + ", version " + house.stamp.version + ", ";
  if (e.required < 1) return text + "cannot tell how many runs this stone needs.";
  return text + "asks for " + base::counted(static_cast<uint64_t>(e.required), "run") +
         " of this stone; " + std::to_string(e.valid) + (e.valid == 1 ? " counts." : " count.");
}

// Asked again: which table could not be evaluated, and in which rules and cells.
std::string without_rule(const Evidence& e, const House& house) {
  if (e.required < 1 && house.required_table) {
    const policy::Decision asked = house.required_table->evaluate(e, house.settings);
    return asked.kind == policy::Decision::Kind::kError
               ? "The table of required runs could not be evaluated: " + asked.error.text
               : "The table of required runs gives no whole number from 1 to " +
                     std::to_string(kMostRequired) + ".";
  }
  const policy::Decision decided = house.table.evaluate(e, house.settings);
  switch (decided.kind) {
    case policy::Decision::Kind::kError:
      return "The table could not be evaluated: " + decided.error.text;
    case policy::Decision::Kind::kNoRule:
      return "No rule of the policy matches.";
    case policy::Decision::Kind::kDecided:
      break;
  }
  return "No rule matches: the table's default was taken.";
}

std::string rule_text(const model::Decision& decision, const House& house) {
  if (decision.rule == 0) return without_rule(decision.evidence, house);
  const std::string_view note = house.table.table.note(decision.rule);
  return "Rule " + std::to_string(decision.rule) + " decided" +
         (note.empty() ? "." : ": " + std::string(note));
}

std::string probable_text(const Evidence& e) {
  const model::Probability& p = *e.probability;
  std::string text = "Probability of " + std::string(model::text(p.of)) + ": " + p.value.text() +
                     " (" + p.low.text() + " to " + p.high.text() +
                     "), by the instruments' known stones";
  if (e.error_limits == model::ErrorLimits::kMet) return text + "; the error limits are met.";
  if (e.error_limits == model::ErrorLimits::kAgainst)
    return text + "; the runs speak for something else.";
  if (!e.more_runs) return text + "; no number of further runs meets the error limits.";
  return text + "; " + base::counted(static_cast<uint64_t>(*e.more_runs), "more agreeing run") +
         " would meet the error limits.";
}

// For display, so as the trade states carats.
std::string carat_text(const Evidence& e) {
  const model::CaratEstimate& c = *e.carat_estimate;
  std::string text = "By its measurements it has about " + evidence::stated_carat(c.carat) +
                     " ct (" + evidence::stated_carat(c.low) + " to " +
                     evidence::stated_carat(c.high) + ")";
  if (!c.plausible || !e.stone.carat) return text + '.';
  return text + "; the declared " + evidence::stated_carat(*e.stone.carat) + " ct " +
         (*c.plausible ? "fit." : "do not fit.");
}

std::vector<Reason> with_evidence(Reason first, const Evidence& e, const House& house,
                                  std::string rule) {
  std::vector<Reason> all;
  all.push_back(std::move(first));
  all.push_back({"seen", seen_text(e)});
  all.push_back({"asked", asked_text(e, house)});
  all.push_back({"rule", std::move(rule)});
  if (e.probability) all.push_back({"probable", probable_text(e)});
  if (e.carat_estimate) all.push_back({"carat", carat_text(e)});
  return all;
}

}  // namespace

std::vector<std::string> placeholders(std::string_view wording) {
  std::vector<std::string> names;
  split_wording(
      wording, [](std::string_view) {}, [&](std::string_view name) { names.emplace_back(name); });
  return names;
}

bool is_own_reason(std::string_view code) {
  return std::ranges::find(kReasons, code, &DefaultReason::code) != std::end(kReasons);
}

std::string reason_text(std::string_view code, const Evidence& evidence, const House& house) {
  if (const auto own = house.reason_texts.find(code); own != house.reason_texts.end()) {
    return filled(own->second, evidence, house);
  }
  if (code == "more_readings_needed") {
    return std::to_string(evidence.valid) + " of " + std::to_string(evidence.required) +
           " agreeing runs so far: measure " + once_or_more(std::max(1, evidence.missing())) +
           " more.";
  }
  const auto ours = std::ranges::find(kReasons, code, &DefaultReason::code);
  if (ours != std::end(kReasons)) return std::string(ours->text);
  std::string text(code);
  std::ranges::replace(text, '_', ' ');
  return text;
}

std::vector<Reason> reasons(const model::Decision& decision, const House& house, bool is_open) {
  const Evidence& e = decision.evidence;
  std::vector<Reason> all =
      with_evidence({decision.reason, reason_text(decision.reason, e, house)}, e, house, rule_text(decision, house));
  if (!is_open) return all;
  for (const WhatIf& step : what_would_change(e, house))
    all.push_back({"would_change", step.text()});
  return all;
}

std::vector<Reason> reasons_by_hand(const model::ByHand& by, const Evidence& evidence,
                                    const House& house) {
  const model::Decision policy = decide(evidence, house);
  const bool is_sentence = by.why.find_last_of(".!?") == by.why.size() - 1;
  Reason first{"decided_by_hand",
               "Decided by hand by " + by.who + ": " + by.why + (is_sentence ? "" : ".")};
  return with_evidence(std::move(first), evidence, house,
                       "The policy says " + std::string(model::text(policy.disposition)) + " (" +
                           policy.reason + ") of the same evidence. " + rule_text(policy, house));
}

std::optional<model::Disclosure> disclosure_of(const Evidence& evidence, const House& house) {
  const evidence::Market* market =
      house.market.empty() ? nullptr : evidence::find_market(house.market);
  if (!market || evidence.finding > Evidence::Common::kSimulant) return std::nullopt;
  const auto identity = static_cast<Finding>(evidence.finding);
  const evidence::DisclosureWords words = evidence::disclosure_words(*market, identity);
  return model::Disclosure{market->name,  market->title, market->source,
                           words.allowed, words.barred,  evidence::kCheckLocalRules};
}

}  // namespace girdle::casework
