// A policy file, and a decision table: by itself, or inside a policy.
#include "base/text.h"
#include "config/keys.h"
#include "config/load.h"

namespace girdle::config {
namespace {

class TableReader {
 public:
  TableReader(const std::string& file, Problems& problems) : file_(file), problems_(problems) {}

  std::optional<DecisionTable> read(const YAML::Node& root) {
    const size_t before = problems_.size();
    Section s(root, "the table", keys::kTable, file_, problems_);
    if (!s.sound()) return std::nullopt;
    DecisionTable table;
    table.file = file_;
    table.hit_policy = s.located("hit_policy").value_or(Text{"UNIQUE", s.mark()});
    table.aggregation = s.located("aggregation").value_or(Text{"", s.mark()});
    each(s, "inputs", [&](const YAML::Node& node) {
      Section input(node, "an input", keys::kTableInput, file_, problems_);
      table.inputs.push_back({input.located("expression").value_or(Text{"", input.mark()}),
                              input.text("type").value_or(""),
                              input.located("allowed_values").value_or(Text{"", input.mark()})});
    });
    each(s, "outputs", [&](const YAML::Node& node) {
      Section output(node, "an output", keys::kTableOutput, file_, problems_);
      table.outputs.push_back({output.located("name").value_or(Text{"", output.mark()}),
                               output.text("type").value_or(""),
                               output.located("allowed_values").value_or(Text{"", output.mark()}),
                               output.located("default").value_or(Text{"", output.mark()})});
    });
    each(s, "rules", [&](const YAML::Node& node) {
      Section rule(node, "a rule", keys::kTableRule, file_, problems_);
      table.rules.push_back({cells(rule, "when"), cells(rule, "then"), rule.text("note").value_or("")});
    });
    if (problems_.size() > before) return std::nullopt;
    return table;
  }

 private:
  template <class Each>
  void each(Section& s, std::string_view key, Each one) {
    const YAML::Node list = s.at(key);
    if (!list.IsDefined()) return;
    if (!list.IsSequence() || list.size() == 0) {
      s.problem_at(key, "it must be a list of at least one");
      return;
    }
    for (const auto& item : list) one(item);
  }

  std::vector<Text> cells(Section& rule, std::string_view key) {
    std::vector<Text> texts;
    each(rule, key, [&](const YAML::Node& cell) {
      if (cell.IsScalar()) {
        texts.push_back({cell.Scalar(), mark_of(cell)});
      } else {
        rule.problem(mark_of(cell), std::string(key) + ": each cell is one text, in single quotes");
        texts.push_back({"-", mark_of(cell)});
      }
    });
    return texts;
  }

  const std::string& file_;
  Problems& problems_;
};

}  // namespace

std::optional<DecisionTable> parse_table(const std::string& text, const std::string& file, Problems& problems) {
  const auto root = load_yaml(text, file, problems);
  return root ? TableReader(file, problems).read(*root) : std::nullopt;
}

std::optional<Policy> parse_policy(const std::string& text, const std::string& file, Problems& problems) {
  const size_t before = problems.size();
  const auto root = load_yaml(text, file, problems);
  if (!root) return std::nullopt;
  Section s(*root, "the policy", keys::kPolicy, file, problems);
  if (!s.sound()) return std::nullopt;
  Policy policy;
  policy.file = file;
  policy.name = s.text("name").value_or("");
  policy.version = s.text("version").value_or("");
  if (s.has("parameters")) {
    Section parameters(s.at("parameters"), "parameters", keys::kParameters, file, problems);
    policy.required = static_cast<int>(parameters.integer("required", 1, 100).value_or(policy.required));
    policy.accept_unknown_scope = parameters.boolean("accept_unknown_scope").value_or(false);
  }
  policy.reopen_after = s.duration("reopen_after").value_or(policy.reopen_after);
  policy.scan_fresh = s.duration("scan_fresh").value_or(policy.scan_fresh);
  const YAML::Node reasons = s.at("reasons");
  if (reasons.IsDefined() && !reasons.IsMap()) {
    s.problem_at("reasons", "it must be a map: the reason's code, then its wording");
  } else if (reasons.IsDefined()) {
    for (const auto& reason : reasons) {
      if (reason.first.IsScalar() && reason.second.IsScalar()) {
        policy.reason_texts[reason.first.Scalar()] = reason.second.Scalar();
      } else {
        s.problem(mark_of(reason.first), "reasons: each is a code and one text");
      }
    }
  }
  if (s.has("table")) policy.table = TableReader(file, problems).read(s.at("table"));
  if (problems.size() > before) return std::nullopt;
  return policy;
}

}  // namespace girdle::config
