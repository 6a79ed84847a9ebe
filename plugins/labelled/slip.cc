#include "labelled/slip.h"

#include <utility>

#include "columns/text_lines.h"
#include "kit/output.h"

namespace girdle::labelled {

namespace {

void lend_all(const std::vector<std::string>& texts, std::vector<girdle_text>& out) {
  out.clear();
  for (const std::string& text : texts) out.push_back(kit::lend(text));
}

}  // namespace

void Slip::clear() {
  names_.clear();
  values_.clear();
  known_.clear();
}

std::optional<std::string> Slip::add(std::string_view label, std::string_view value) {
  std::string name;
  append_folded(label, fold_, name);
  if (!known_.insert(name).second)
    return "the label " + columns::excerpt(name) + " comes twice in one slip";
  if (names_.size() == max_fields_) {
    return "more than " + std::to_string(max_fields_) + (max_fields_ == 1 ? " label" : " labels") +
           " in one slip";
  }
  names_.push_back(std::move(name));
  values_.emplace_back(value);
  return std::nullopt;
}

void Slip::go_on(std::string_view value) {
  std::string& last = values_.back();
  if (!last.empty()) last.push_back(' ');
  last.append(value);
}

const std::vector<girdle_text>& Slip::names() {
  lend_all(names_, lent_names_);
  return lent_names_;
}

const std::vector<girdle_text>& Slip::values() {
  lend_all(values_, lent_values_);
  return lent_values_;
}

uint32_t Slip::layout() {
  if (layout_ == 0 || names_ != last_names_) {
    if (layout_ < UINT32_MAX) ++layout_;
    last_names_ = names_;
  }
  return layout_ == UINT32_MAX ? 0 : layout_;
}

}  // namespace girdle::labelled
