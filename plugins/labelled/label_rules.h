// Which lines have a label, and what is label and what is value: the option `labels`, understood.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "labelled/pattern.h"

namespace girdle::labelled {

// The first colon or equals sign ends the label.
constexpr std::string_view kGenericLabel = "([^:=]+)[:=](.*)";

class LabelRules {
 public:
  // Nothing, and the reason in `refusal`, where a pattern cannot be used or its groups are not
  // those of a rule: two for label and value, or one with a name for each field.
  static std::optional<LabelRules> from(std::string_view text, std::string& refusal);

  using Found = std::vector<std::pair<std::string_view, std::string_view>>;
  // Label and value, or several, by the first pattern that matches; without blanks at either end.
  // Nothing where the line has no label. Lent from `line` and from this, until the next call.
  const Found* find(std::string_view line);

 private:
  struct Rule {
    std::unique_ptr<const re2::RE2> pattern;
    int label = 0;  // the group; 0 = each group has its name
    int value = 0;
    std::vector<std::pair<int, std::string>> names;  // of groups, in their order
  };
  static std::optional<Rule> rule(std::unique_ptr<const re2::RE2> pattern, std::string& refusal);
  void take(const Rule& rule);
  std::string_view group(int index) const;

  std::vector<Rule> rules_;
  std::vector<re2::StringPiece> groups_;  // of the last match
  Found found_;
};

}  // namespace girdle::labelled
