// One field's rule of a mapping, compiled: where its text comes from and what is made of it.
#pragma once

#include <girdle/reader.h>

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/fold.h"
#include "base/time.h"
#include "model/mapping.h"
#include "reading/fault.h"
#include "reading/field_values.h"
#include "reading/pattern.h"
#include "reading/record_fields.h"

namespace girdle::reading {

// The instrument's word and ours.
struct Word {
  std::string raw;  // as the mapping writes it
  std::string key;  // folded, where the rule folds
  std::string ours;
};

struct TimeRule {
  base::TimeForm form;
  base::Zone zone;
  base::TwiceRule twice = base::TwiceRule::kRefuse;
};

struct Rule {
  static constexpr size_t kMaxColumns = 8;

  Take take = Take::kKey;
  bool required = false;
  bool constant = false;
  bool translates = false;  // by an identifier of GS1, a pattern or words
  bool has_words = false;
  bool folds = false;
  bool has_default = false;
  uint8_t count = 0;                           // of columns
  std::array<int16_t, kMaxColumns> columns{};  // in the layout at hand; -1: not there
  size_t field = 0;                            // in fields_of<Record>(); unused for extra.*
  NumberForm number;                           // kDecimal
  std::unique_ptr<TimeRule> time;              // kTime
  std::unique_ptr<Pattern> pattern;            // what is taken of a text; null: all of it
  base::Folding folding;                       // of words
  std::vector<Word> words;
  std::string extra;  // kExtra: the name after the dot
  model::FieldRule source;

  // `column "result"`, as reasons begin.
  std::string source_name() const;
  // Our word for the instrument's; nothing where the mapping has none. `scratch` is overwritten.
  const std::string* word(std::string_view raw, std::string& scratch) const;
};

// What a rule needs to know of its field.
struct FieldFacts {
  size_t index = 0;
  Take take = Take::kKey;
  Range range = Range::kAny;
  bool required = false;
  bool may_have_default = false;
};

// Nothing where there are faults.
std::optional<Rule> compile_rule(const model::FieldRule& source, const FieldFacts& facts,
                                 const model::Mapping& mapping, std::string_view timezone,
                                 Faults& faults);

}  // namespace girdle::reading
