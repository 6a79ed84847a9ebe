// The reader `labelled`: printed slips.
#include <algorithm>

#include "draft/column_names.h"
#include "draft/evidence.h"
#include "draft/proposal.h"
#include "draft/slips.h"
#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostHintLines = 200;  // a letterhead stands at the beginning

void add_hint(const Look& look, Proposal& proposal) {
  for (const std::string& text : look.texts) {
    const auto lines = lines_of(text);
    for (size_t i = 0; i < std::min(lines.size(), kMostHintLines); ++i) {
      std::string hint = serial_hint(lines[i], i + 1);
      if (hint.empty()) continue;
      proposal.serial_hints.push_back(std::move(hint));
      return;
    }
  }
}

// 0 to 1: by labels that are usual names, and by how many lines have one.
double likeliness_of(const SlipShape& shape) {
  const auto& labels = shape.distinct_labels;
  const auto usual = std::count_if(labels.begin(), labels.end(), [](const std::string& label) {
    const auto meanings = meanings_of(label);
    return !meanings.empty() && meanings.front().strength > 1;
  });
  const double share =
      static_cast<double>(shape.labelled) / static_cast<double>(shape.labelled + shape.ignored);
  return (usual > 1 ? 0.8 : usual == 1 || labels.size() > 1 ? 0.5 : 0.2) * share;
}

// The option `fold`; empty where labels need none.
std::string fold_of(const SlipShape& shape) {
  if (shape.differs_in_case && shape.differs_in_space) return "both";
  return shape.differs_in_case ? "case" : shape.differs_in_space ? "space" : "";
}

std::vector<Setting> options_of(const SlipShape& shape) {
  std::vector<Setting> options;
  const auto add = [&](std::string name, std::string value, std::string why) {
    options.push_back(settled(std::move(name), std::move(value), std::move(why)));
  };
  if (!shape.labels.empty()) add("labels", shape.labels, "dots lead to the value");
  if (!shape.end.empty()) add("end", shape.end, shape.end_seen);
  if (shape.last_is_unended) add("unended", "record", "the last slip has no such line");
  if (!shape.ignore.empty()) {
    std::string all;
    for (const std::string& pattern : shape.ignore) all += (all.empty() ? "" : "\n") + pattern;
    add("ignore", all,
        counted(shape.ignored, "line") + " without a label; look whether they may go unread");
  }
  if (std::string fold = fold_of(shape); !fold.empty()) {
    add("fold", std::move(fold), "some labels differ in nothing else");
  }
  if (shape.continued > 0) {
    add("continued", "indented",
        counted(shape.continued, "line") + (shape.continued == 1 ? " goes" : " go") +
            " on with the value before");
  }
  return options;
}

}  // namespace

std::vector<Proposal> propose_labelled(const Look& look) {
  if (look.text.form == TextForm::kBinary) return {};
  const auto shape = slip_shape(look.texts);
  if (!shape) return {};
  Proposal proposal;
  proposal.reader = "labelled";
  proposal.likeliness = likeliness_of(*shape);
  proposal.evidence.push_back(counted(shape->labelled, "line") + " with a label, in " +
                              counted(shape->slips, "slip"));
  proposal.options = options_of(*shape);
  add_hint(look, proposal);
  return {proposal};
}

}  // namespace girdle::draft
