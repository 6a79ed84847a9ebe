// Short ways to write down what a configuration says of an outlet.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "config/problem.h"
#include "config/settings.h"

namespace girdle::delivery {

inline config::Leaf constant(std::string text,
                             config::Leaf::Type type = config::Leaf::Type::kText) {
  config::Leaf leaf;
  leaf.mark = {7, 3};
  leaf.type = type;
  leaf.constant = std::move(text);
  return leaf;
}

inline config::Leaf joined(std::vector<std::string> pointers) {
  config::Leaf leaf;
  leaf.mark = {7, 3};
  for (std::string& pointer : pointers) leaf.from.push_back({std::move(pointer), {7, 9}});
  return leaf;
}
inline config::Leaf from(std::string pointer) { return joined({std::move(pointer)}); }

inline config::Leaf with_default(config::Leaf leaf, std::string text) {
  leaf.has_default = true;
  leaf.default_value = {std::move(text), {8, 5}};
  return leaf;
}

inline config::Leaf with_words(config::Leaf leaf,
                               const std::vector<std::pair<std::string, std::string>>& words) {
  for (const auto& [ours, theirs] : words)
    leaf.words.push_back({{ours, {9, 5}}, {theirs, {9, 15}}});
  return leaf;
}

inline config::Leaf as(config::Leaf leaf, config::Leaf::Type type) {
  leaf.type = type;
  return leaf;
}

using Members = std::vector<std::pair<config::Text, config::Tree>>;

inline config::Tree tree(config::Leaf leaf) { return {leaf.mark, std::move(leaf)}; }
inline config::Tree list(std::vector<config::Tree> values) { return {{6, 1}, std::move(values)}; }
inline config::Tree object(std::vector<std::pair<std::string, config::Tree>> members) {
  Members out;
  for (auto& [name, value] : members) out.push_back({{std::move(name), {6, 1}}, std::move(value)});
  return {{5, 1}, std::move(out)};
}

using Fields = std::vector<std::pair<config::Text, config::Leaf>>;
inline Fields fields(std::vector<std::pair<std::string, config::Leaf>> named) {
  Fields out;
  for (auto& [name, leaf] : named) out.push_back({{std::move(name), {6, 1}}, std::move(leaf)});
  return out;
}

inline config::Outlet outlet_of_tree(config::Body::Kind kind, config::Tree tree) {
  config::Outlet outlet;
  outlet.name = "till";
  outlet.body.kind = kind;
  outlet.body.mark = {4, 1};
  outlet.body.tree = std::move(tree);
  return outlet;
}
inline config::Outlet outlet_of_fields(config::Body::Kind kind, Fields named) {
  config::Outlet outlet = outlet_of_tree(kind, {});
  outlet.body.fields = std::move(named);
  return outlet;
}

// What was reported, one a line: "line:column: text".
class Reported {
 public:
  const config::Report& report() const { return report_; }
  std::string text() const {
    std::string out;
    for (const config::Problem& problem : problems_) {
      out += std::to_string(problem.mark.line) + ":" + std::to_string(problem.mark.column) + ": " +
             problem.text + "\n";
    }
    return out;
  }

 private:
  std::string file_ = "girdled.yaml";
  config::Problems problems_;
  config::Report report_{file_, problems_};
};

}  // namespace girdle::delivery
