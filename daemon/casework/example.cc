#include "casework/example.h"

#include <algorithm>

#include "base/text.h"
#include "casework/decide.h"

namespace girdle::casework {
namespace {

std::string in_list(const std::vector<std::string>& words) {
  return words.empty() ? "nobody" : base::listed(words);
}

class Trial {
 public:
  Trial(const HouseSpec::Example& example, const House& house) : example_(example), house_(house) {}

  std::vector<ExampleFault> run() {
    bool is_required_given = false;
    for (const auto& [name, value] : example_.facts) {
      if (auto set = set_fact(name.text, value.text, evidence_); !set) {
        faults_.push_back({set_mark(name, value), set.error().text});
      }
      is_required_given |= name.text == "required";
    }
    if (!faults_.empty()) return std::move(faults_);
    if (!is_required_given) evidence_.required = required_runs(evidence_, house_);
    const model::Decision decision = decide(evidence_, house_);
    const std::string required = std::to_string(evidence_.required);
    if (!example_.required.text.empty() && example_.required.text != required) {
      faults_.push_back({example_.required.mark, "it wants " + example_.required.text +
                                                     " runs asked for, and the policy asks for " +
                                                     required});
    }
    const std::string rule =
        decision.rule > 0 ? "rule " + std::to_string(decision.rule) : "no rule";
    const std::string answer =
        std::string(text(decision.disposition)) + " (" + decision.reason + ", " + rule + ")";
    expect(example_.disposition, answer, text(decision.disposition));
    expect(example_.reason, answer, decision.reason);
    if (example_.outlets) expect_outlets(decision);
    return std::move(faults_);
  }

 private:
  static policy::Mark set_mark(const Located& name, const Located& value) {
    return value.mark.line > 0 ? value.mark : name.mark;
  }

  void expect(const Located& wanted, const std::string& answer, std::string_view got) {
    if (wanted.text.empty() || wanted.text == got) return;
    faults_.push_back({wanted.mark, "it wants " + wanted.text + ", and the policy says " + answer});
  }

  void expect_outlets(const model::Decision& decision) {
    std::vector<std::string> wanted;
    for (const Located& outlet : *example_.outlets) wanted.push_back(outlet.text);
    std::ranges::sort(wanted);
    wanted.erase(std::unique(wanted.begin(), wanted.end()), wanted.end());
    const auto routed = outlets_for(decision, std::nullopt, house_);
    if (routed == wanted) return;
    const bool is_named = !example_.outlets->empty();
    faults_.push_back({is_named ? example_.outlets->front().mark : example_.mark,
                       "it wants " + in_list(wanted) + " to hear of it, and the policy tells " +
                           (routed ? in_list(*routed) : "every outlet")});
  }

  const HouseSpec::Example& example_;
  const House& house_;
  model::Evidence evidence_;
  std::vector<ExampleFault> faults_;
};

}  // namespace

std::vector<ExampleFault> try_example(const HouseSpec::Example& example, const House& house) {
  return Trial(example, house).run();
}

}  // namespace girdle::casework
