#include "reading/section_mapper.h"

#include <algorithm>
#include <utility>
#include <vector>

#include "base/text.h"
#include "reading/columns.h"
#include "reading/record_mapper.h"

namespace girdle::reading {
namespace {

using Applied = Mapper::Applied;

struct Test {
  model::FieldTest source;
  int16_t column = -1;  // in the layout at hand; -1: not there
};

struct Part {
  std::vector<Test> when;
  std::string ignore;                    // why its records are no results
  std::unique_ptr<Mapper::Impl> mapper;  // null: they are ignored
};

void count_ignored(std::vector<model::Ignored>& ignored, const std::string& why) {
  const auto same = std::find_if(ignored.begin(), ignored.end(),
                                 [&](const model::Ignored& known) { return known.why == why; });
  ++(same == ignored.end() ? ignored.emplace_back(model::Ignored{why, 0}) : *same).count;
}

class SectionMapper final : public Mapper::Impl {
 public:
  SectionMapper(std::vector<Part> parts, bool sparse) : parts_(std::move(parts)), sparse_(sparse) {}

  Applied apply(const girdle_record& record, uint64_t document, model::Records& out,
                std::string& reason) override {
    const auto find = [this](const girdle_record& r, std::string& why) {
      return find_columns(r, why);
    };
    const Applied bound = layout_.bind(record, document, reason, find);
    if (bound != Applied::kMade) return bound;
    for (const Part& part : parts_) {
      if (!takes(part, record)) continue;
      if (part.mapper) return part.mapper->apply(record, document, out, reason);
      count_ignored(out.ignored, part.ignore);
      return Applied::kIgnored;
    }
    reason = fits_none(record);
    return Applied::kRefused;
  }

 private:
  bool find_columns(const girdle_record& record, std::string& reason) {
    for (Part& part : parts_) {
      for (Test& test : part.when) {
        if (!find_column(record, test.source.field, test.column, reason)) return false;
      }
    }
    return true;
  }

  bool takes(const Part& part, const girdle_record& record) const {
    return std::all_of(part.when.begin(), part.when.end(),
                       [&](const Test& test) { return holds(test, record); });
  }

  // In sparse records a field that is left out is an empty text.
  bool holds(const Test& test, const girdle_record& record) const {
    if (test.column < 0 && !sparse_) return false;
    const std::string_view text = test.column < 0 ? std::string_view() : value(record, test.column);
    const auto& texts = test.source.texts;
    return std::find(texts.begin(), texts.end(), text) != texts.end();
  }

  std::string fits_none(const girdle_record& record) const {
    constexpr size_t kMost = 5;
    std::vector<std::string_view> fields, texts;
    std::string reason = "fits no section of the mapping: ";
    for (const Part& part : parts_) {
      for (const Test& test : part.when) {
        texts.insert(texts.end(), test.source.texts.begin(), test.source.texts.end());
        const std::string_view field = test.source.field;
        if (std::find(fields.begin(), fields.end(), field) != fields.end()) continue;
        fields.push_back(field);
        if (fields.size() > kMost) continue;
        if (fields.size() > 1) reason += ", and ";
        reason += what_is_there(test, record);
      }
    }
    if (fields.size() > 1) return reason;
    return reason + " (it has sections for " + base::excerpt(base::listed(texts), 300) + ")";
  }

  static std::string what_is_there(const Test& test, const girdle_record& record) {
    if (test.column < 0) return no_column(test.source.field);
    std::string text = "column \"";
    text += base::excerpt(test.source.field) + "\" holds \"";
    return text + base::excerpt(value(record, test.column)) + '"';
  }

  std::vector<Part> parts_;
  bool sparse_;
  Layout layout_;
};

}  // namespace

std::unique_ptr<Mapper::Impl> compile_section_mapper(const model::Mapping& mapping,
                                                     std::string_view timezone, bool sparse,
                                                     Faults& faults) {
  std::vector<Part> parts;
  for (const model::RecordSection& section : mapping.sections) {
    Part& part = parts.emplace_back();
    for (const model::FieldTest& test : section.when) part.when.push_back({test, -1});
    part.ignore = section.ignore;
    if (section.ignore.empty()) {
      part.mapper = compile_record_mapper(section.record, {section.fields, mapping, timezone},
                                          sparse, faults);
    } else if (section.when.empty()) {
      faults.push_back({{}, "ignore: without a test it would take every record"});
    }
  }
  return std::make_unique<SectionMapper>(std::move(parts), sparse);
}

}  // namespace girdle::reading
