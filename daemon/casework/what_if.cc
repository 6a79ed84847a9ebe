#include "casework/what_if.h"

#include <algorithm>
#include <array>

#include "casework/decide.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

using model::common;
using model::Disposition;
using model::Evidence;
using model::Finding;

constexpr std::array kFindings = {Finding::kNatural,  Finding::kLaboratoryGrown,
                                  Finding::kTreated,  Finding::kComposite,
                                  Finding::kSimulant, Finding::kIndeterminate};

constexpr std::string_view kThen[] = {"has to be measured again", "is released",
                                      "is held for a person", "goes to a laboratory",
                                      "is rejected"};

// By the instrument that spoke last.
Evidence with_readings(Evidence evidence, Finding finding, int count, const House& house) {
  const std::string serial =
      evidence.said.empty() ? std::string() : evidence.said.back().instrument;
  const auto same = std::ranges::find_if(evidence.said, [&](const model::Said& one) {
    return one.finding == finding && one.instrument == serial;
  });
  model::Said next = same == evidence.said.end() ? model::Said{finding, serial, 0} : *same;
  next.runs += count;
  if (same != evidence.said.end()) evidence.said.erase(same);
  evidence.said.push_back(std::move(next));
  complete(evidence, house);
  return evidence;
}

// One more, by an instrument that has not measured the stone.
Evidence with_other_instrument(Evidence evidence, Finding finding, const House& house) {
  evidence.said.push_back({finding, std::string(), 1});
  complete(evidence, house);
  return evidence;
}

// What the next reading most likely says: what the others said, else what was declared.
Finding expected(const Evidence& evidence) {
  for (const Finding finding : kFindings) {
    if (evidence.finding == common(finding)) return finding;
  }
  return evidence.declared.value_or(Finding::kNatural);
}

class Steps {
 public:
  Steps(const Evidence& evidence, const House& house)
      : evidence_(evidence), house_(house), now_(decide(evidence, house)) {}

  bool changes(const Evidence& then) const {
    return decide(then, house_).disposition != now_.disposition;
  }
  void add(std::string step, const Evidence& then) {
    const model::Decision decision = decide(then, house_);
    steps_.push_back({std::move(step), decision.disposition, decision.reason});
  }

  void more_readings();
  void other_reading();
  void known_scope();
  void declared();
  std::vector<WhatIf> take() { return std::move(steps_); }

 private:
  const Evidence& evidence_;
  const House& house_;
  const model::Decision now_;
  std::vector<WhatIf> steps_;
};

void Steps::more_readings() {
  const Finding finding = expected(evidence_);
  for (int count = 1; count <= kMostMoreReadings; ++count) {
    const Evidence then = with_readings(evidence_, finding, count, house_);
    if (!changes(then)) continue;
    const std::string noun = std::string(text(finding)) + (count == 1 ? " reading" : " readings");
    add((count == 1 ? "one" : std::to_string(count)) + " more " + noun, then);
    return;
  }
  const Evidence then = with_other_instrument(evidence_, finding, house_);
  if (!evidence_.said.empty() && changes(then)) {
    add("a " + std::string(text(finding)) + " reading of another instrument", then);
  }
}

// One step for all other findings where they lead to the same; else one for each.
void Steps::other_reading() {
  if (evidence_.valid == 0 || evidence_.finding == Evidence::Common::kMixed) return;
  std::vector<Finding> others;
  for (const Finding finding : kFindings) {
    if (evidence_.finding != common(finding)) others.push_back(finding);
  }
  const Evidence first = with_readings(evidence_, others.front(), 1, house_);
  const auto same = [&](Finding finding) {
    return decide(with_readings(evidence_, finding, 1, house_), house_).disposition ==
           decide(first, house_).disposition;
  };
  if (std::ranges::all_of(others, same)) {
    if (changes(first)) add("a reading that says anything else", first);
    return;
  }
  for (const Finding finding : others) {
    const Evidence then = with_readings(evidence_, finding, 1, house_);
    if (changes(then)) add("a reading of " + std::string(text(finding)), then);
  }
}

void Steps::known_scope() {
  if (evidence_.scope != model::Scope::kUnknown) return;
  Evidence then = evidence_;
  then.scope = model::Scope::kIn;
  if (changes(then)) add("a carat or colour inside the instrument's scope", then);
}

void Steps::declared() {
  for (const Finding finding : kFindings) {
    if (finding == Finding::kIndeterminate || evidence_.finding != common(finding)) continue;
    if (evidence_.declared == finding) return;
    Evidence then = evidence_;
    then.declared = finding;
    complete(then, house_);
    if (changes(then)) add("a declaration as " + std::string(text(finding)), then);
  }
}

}  // namespace

std::string WhatIf::text() const {
  return "With " + step + ", it " + std::string(kThen[static_cast<size_t>(disposition)]) + ".";
}

std::vector<WhatIf> what_would_change(const Evidence& evidence, const House& house) {
  if (!evidence.is_told()) return {};
  Steps steps(evidence, house);
  steps.more_readings();
  steps.other_reading();
  steps.known_scope();
  steps.declared();
  return steps.take();
}

}  // namespace girdle::casework
