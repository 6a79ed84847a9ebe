#include "reading/record_mapper.h"

#include <algorithm>

#include "base/text.h"
#include "reading/columns.h"
#include "reading/gs1_value.h"
#include "reading/rule.h"

namespace girdle::reading {
namespace {

using base::in_quotes;

using Applied = Mapper::Applied;
using model::Declaration;
using model::Reading;
using model::RecordKind;
using model::Records;
using model::Scan;

std::vector<Reading>& list_of(Records& records, const Reading*) { return records.readings; }
std::vector<Declaration>& list_of(Records& records, const Declaration*) {
  return records.declarations;
}
std::vector<Scan>& list_of(Records& records, const Scan*) { return records.scans; }

// The rule by which an hour that comes twice was resolved is kept with what a till may see of it.
void note_rule(Reading& reading, base::TwiceRule rule) {
  reading.time_rule = rule == base::TwiceRule::kEarlier ? "earlier" : "later";
}
void note_rule(Declaration&, base::TwiceRule) {}
void note_rule(Scan&, base::TwiceRule) {}

// Only readings have defaults.
void note_default(Reading& reading, const std::string& field) { reading.defaults.push_back(field); }
void note_default(Declaration&, const std::string&) {}
void note_default(Scan&, const std::string&) {}

void add_extra(Reading& r, const std::string& name, std::string_view value) {
  r.extra.emplace_back(name, value);
}
void add_extra(Declaration& d, const std::string& name, std::string_view value) {
  d.extra.emplace_back(name, value);
}
void add_extra(Scan&, const std::string&, std::string_view) {}

bool find_columns(std::vector<Rule>& rules, const girdle_record& record, std::string& reason) {
  for (Rule& rule : rules) {
    for (size_t i = 0; i < rule.count; ++i) {
      if (!find_column(record, rule.source.from[i], rule.columns[i], reason)) return false;
    }
  }
  return true;
}

std::string column_missing(const Rule& rule, size_t which, const girdle_record& record) {
  return no_column(rule.source.from[which]) + ", from which the mapping takes " +
         rule.source.field + columns_there(record);
}

std::string no_word(const Rule& rule, std::string_view raw) {
  std::vector<std::string_view> words;
  for (const Word& word : rule.words) {
    words.push_back(word.raw.empty() ? std::string_view("\"\"") : word.raw);
  }
  return "holds " + in_quotes(raw) + ", which the mapping has no word for (it has " +
         base::excerpt(base::listed(words), 300) + ")";
}

std::string no_match(const Rule& rule, std::string_view text) {
  if (text.size() > Pattern::kMaxText) {
    return "holds a text of " + std::to_string(text.size()) +
           " bytes; patterns are tried on at most " + std::to_string(Pattern::kMaxText);
  }
  return "holds " + in_quotes(text) + ", which does not match the pattern " +
         base::excerpt(rule.source.match, 200);
}

template <class Record>
class RecordMapper final : public Mapper::Impl {
 public:
  RecordMapper(std::vector<Rule> rules, bool sparse) : rules_(std::move(rules)), sparse_(sparse) {
    maps_position_ = std::any_of(rules_.begin(), rules_.end(),
                                 [](const Rule& rule) { return rule.take == Take::kPosition; });
  }

  Applied apply(const girdle_record& record, uint64_t document, Records& out,
                std::string& reason) override {
    const auto find = [this](const girdle_record& r, std::string& why) {
      return find_columns(rules_, r, why);
    };
    const Applied bound = layout_.bind(record, document, reason, find);
    if (bound != Applied::kMade) return bound;
    auto& list = list_of(out, static_cast<const Record*>(nullptr));
    Record& made = list.emplace_back();
    made.place = {record.offset, record.length,
                  static_cast<uint32_t>(std::min<uint64_t>(record.line, UINT32_MAX))};
    for (const Rule& rule : rules_) {
      if (fill(rule, record, made, reason)) continue;
      list.pop_back();
      return Applied::kRefused;
    }
    return Applied::kMade;
  }

  // What records would be refused for, told once: constants and defaults that do not fit their
  // fields.
  void try_values(Faults& faults) {
    const auto place = [](const model::Mark& own, const Rule& rule) {
      return own.line != 0 ? own : rule.source.mark;
    };
    for (const Rule& rule : rules_) {
      Record trial;
      std::string reason;
      const model::FieldRule& source = rule.source;
      if (rule.constant && !fill_from(rule, without_outer_space(source.constant), trial, reason)) {
        faults.push_back({place(source.constant_mark, rule), "value: " + std::move(reason)});
      }
      if (rule.has_default && !set(rule, source.default_value, trial, reason)) {
        faults.push_back({place(source.default_mark, rule), "default: it " + std::move(reason)});
      }
    }
  }

 private:
  bool fill(const Rule& rule, const girdle_record& record, Record& out, std::string& reason) {
    if (rule.constant)
      return fill_from(rule, without_outer_space(rule.source.constant), out, reason);
    if (rule.count == 1 && rule.columns[0] >= 0) {
      return fill_from(rule, value(record, rule.columns[0]), out, reason);
    }
    joined_.clear();
    size_t missing = rule.count;
    bool any = false;
    for (size_t i = 0; i < rule.count; ++i) {
      if (i > 0) joined_ += rule.source.join;
      const std::string_view part =
          rule.columns[i] >= 0 ? value(record, rule.columns[i]) : std::string_view();
      joined_ += part;
      any = any || !part.empty();
      if (rule.columns[i] < 0) missing = std::min(missing, i);
    }
    if (missing < rule.count && (!sparse_ || (!any && rule.required))) {
      reason = column_missing(rule, missing, record);
      return false;
    }
    const std::string_view text = any ? without_outer_space(joined_) : std::string_view();
    return fill_from(rule, text, out, reason);
  }

  // An empty text, before or after it is translated: there is no value.
  bool fill_from(const Rule& rule, std::string_view text, Record& out, std::string& reason) {
    if (rule.translates && !translate(rule, text, reason)) return false;
    if (text.empty()) return fill_nothing(rule, out, reason);
    return set(rule, text, out, reason) || refuse(rule, reason);
  }

  // What is taken of the text, and our word for it. Rare, unlike what is around it.
  [[gnu::noinline]] bool translate(const Rule& rule, std::string_view& text, std::string& reason) {
    if (!rule.source.gs1.empty() && !text.empty()) {
      if (!take_gs1(text, rule.source.gs1, coded_, reason)) return refuse(rule, reason);
      text = coded_;
    }
    if (rule.pattern && !text.empty()) {
      const auto taken = rule.pattern->take(text, taken_);
      if (!taken) {
        reason = no_match(rule, text);
        return refuse(rule, reason);
      }
      text = without_outer_space(*taken);
    }
    if (!rule.has_words) return true;
    if (const std::string* const word = rule.word(text, folded_)) {
      text = *word;
    } else if (!text.empty()) {
      reason = no_word(rule, text);
      return refuse(rule, reason);
    }
    return true;
  }

  [[gnu::noinline]] bool fill_nothing(const Rule& rule, Record& out, std::string& reason) const {
    if (rule.has_default) {
      note_default(out, rule.source.field);
      return set(rule, rule.source.default_value, out, reason) || refuse(rule, reason);
    }
    if (!rule.required) return true;
    reason = "is empty, and " + rule.source.field + " has to be there";
    return refuse(rule, reason);
  }

  [[gnu::noinline]] static bool refuse(const Rule& rule, std::string& reason) {
    reason.insert(0, rule.source_name() + ' ');
    return false;
  }

  bool set(const Rule& rule, std::string_view text, Record& out, std::string& reason) const {
    const Field<Record>& field = fields_[rule.field];
    switch (rule.take) {
      case Take::kKey:
        if (!check_key(text, reason)) return false;
        (out.*field.text).assign(text);
        return true;
      case Take::kNote:
        if (!check_note(text, reason)) return false;
        (out.*field.text).assign(text);
        return true;
      case Take::kExtra:
        if (!check_note(text, reason)) return false;
        add_extra(out, rule.extra, text);
        return true;
      case Take::kDecimal:
        return read_decimal(text, rule.number, out.*field.decimal, reason);
      case Take::kTime:
        return set_time(*rule.time, text, out, reason);
      case Take::kStockNumber:
        return set_stock_number(text, out, reason);
      case Take::kPosition:
        return set_position(text, out, reason);
      case Take::kFinding:
      case Take::kIdentity:
      case Take::kDiamondType:
      case Take::kSubjectKind:
        return set_known_word(rule, text, out, reason);
    }
    return false;
  }

  static bool set_known_word(const Rule& rule, std::string_view text, Record& out,
                             std::string& reason) {
    if (const auto number = word_number(rule.take, text)) {
      reading::set_word(out, rule.take, *number);
      return true;
    }
    reason = "holds " + in_quotes(text) + ", which is not " + std::string(words_for(rule.take)) +
             "; the mapping can translate it with  words";
    return false;
  }

  static bool set_time(const TimeRule& rule, std::string_view text, Record& out,
                       std::string& reason) {
    auto instant = rule.form.parse(text, rule.zone, base::TwiceRule::kRefuse);
    if (!instant && rule.twice != base::TwiceRule::kRefuse) {
      instant = rule.form.parse(text, rule.zone, rule.twice);
      if (instant) note_rule(out, rule.twice);
    }
    if (!instant) {
      reason = "holds " + instant.error().text;
      return false;
    }
    time_of(out) = *instant;
    return true;
  }

  bool set_stock_number(std::string_view text, Record& out, std::string& reason) const {
    if (!check_key(text, reason)) return false;
    const size_t mark = text.find('#');
    if (mark == std::string_view::npos) {
      out.stock_number.assign(text);
      return true;
    }
    const std::string_view stock = without_outer_space(text.substr(0, mark));
    const std::string_view position = without_outer_space(text.substr(mark + 1));
    if (maps_position_ || stock.empty() || position.empty() ||
        position.find('#') != std::string_view::npos) {
      reason = "holds " + in_quotes(text) +
               "; # stands between a piece and one of its stones, as in R1042#2";
      if (maps_position_) reason += ", and this mapping takes the position from elsewhere";
      return false;
    }
    out.stock_number.assign(stock);
    out.position.assign(position);
    return true;
  }

  static bool set_position(std::string_view text, Record& out, std::string& reason) {
    if (!check_key(text, reason)) return false;
    if (text.find('#') == std::string_view::npos) {
      out.position.assign(text);
      return true;
    }
    reason = "holds " + in_quotes(text) + "; a position has no # in it";
    return false;
  }

  std::vector<Rule> rules_;
  const std::span<const Field<Record>> fields_ = fields_of<Record>();
  bool sparse_;
  bool maps_position_;
  Layout layout_;
  std::string joined_, coded_, taken_, folded_;  // scratch
};

template <class Record>
std::optional<FieldFacts> facts_of(std::string_view name) {
  if (name.starts_with("extra.") && name.size() > 6) {
    return FieldFacts{.take = Take::kExtra, .may_have_default = std::is_same_v<Record, Reading>};
  }
  const auto fields = fields_of<Record>();
  for (size_t i = 0; i < fields.size(); ++i) {
    const Field<Record>& f = fields[i];
    if (f.name == name) return FieldFacts{i, f.take, f.range, f.required, f.may_have_default};
  }
  return std::nullopt;
}

// The rules that are right by themselves, and what is wrong with the others.
template <class Record>
std::vector<Rule> compile_rules(const RecordRules& given, Faults& faults) {
  std::vector<Rule> rules;
  for (const model::FieldRule& source : given.fields) {
    const auto facts = facts_of<Record>(source.field);
    if (!facts || (facts->take == Take::kExtra && std::is_same_v<Record, Scan>)) {
      faults.push_back(
          {source.mark, "there is no field " + in_quotes(source.field) + " in this kind of record"});
      continue;
    }
    auto rule = compile_rule(source, *facts, given.mapping, given.timezone, faults);
    if (rule) rules.push_back(std::move(*rule));
  }
  return rules;
}

template <class Record>
void check_fields(std::span<const model::FieldRule> given, Faults& faults) {
  for (size_t i = 0; i < given.size(); ++i) {
    const auto before = given.first(i);
    const bool again = std::any_of(before.begin(), before.end(),
                                   [&](const auto& rule) { return rule.field == given[i].field; });
    if (again) faults.push_back({given[i].mark, given[i].field + ": it is there twice"});
  }
  for (const Field<Record>& field : fields_of<Record>()) {
    const bool there = std::any_of(given.begin(), given.end(),
                                   [&](const auto& rule) { return rule.field == field.name; });
    if (!there && field.required) {
      faults.push_back({{}, std::string(field.name) + ": it has to be there"});
    }
  }
}

template <class Record>
std::unique_ptr<Mapper::Impl> compile_for(const RecordRules& given, bool sparse, Faults& faults) {
  std::vector<Rule> rules = compile_rules<Record>(given, faults);
  check_fields<Record>(given.fields, faults);
  // A record keeps extra.* in the order of their names.
  std::stable_sort(rules.begin(), rules.end(),
                   [](const Rule& a, const Rule& b) { return a.extra < b.extra; });
  auto mapper = std::make_unique<RecordMapper<Record>>(std::move(rules), sparse);
  mapper->try_values(faults);
  return mapper;
}

}  // namespace

std::unique_ptr<Mapper::Impl> compile_record_mapper(RecordKind kind, const RecordRules& given,
                                                    bool sparse, Faults& faults) {
  switch (kind) {
    case RecordKind::kReading:
      return compile_for<Reading>(given, sparse, faults);
    case RecordKind::kDeclaration:
      return compile_for<Declaration>(given, sparse, faults);
    case RecordKind::kScan:
      return compile_for<Scan>(given, sparse, faults);
  }
  faults.push_back({{}, "no such kind of record"});
  return nullptr;
}

}  // namespace girdle::reading
