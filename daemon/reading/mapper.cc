#include "reading/mapper.h"

#include <algorithm>

#include "base/text.h"
#include "reading/rule.h"

namespace girdle::reading {
namespace {

using Applied = Mapper::Applied;
using Fault = Mapper::Fault;
using model::Declaration;
using model::Reading;
using model::RecordKind;
using model::Records;
using model::Scan;

std::string_view view(const girdle_text& text) {
  return text.size == 0 ? std::string_view() : std::string_view(text.data, text.size);
}

std::string quoted(std::string_view text) {
  std::string out = "\"";
  out += base::excerpt(text);
  out += '"';
  return out;
}

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

void add_extra(Reading& r, const std::string& name, std::string_view value) {
  r.extra.emplace_back(name, value);
}
void add_extra(Declaration& d, const std::string& name, std::string_view value) {
  d.extra.emplace_back(name, value);
}
void add_extra(Scan&, const std::string&, std::string_view) {}

// Where each rule's columns are in the layout at hand.
class Columns {
 public:
  Applied bind(const girdle_record& record, uint64_t document, std::vector<Rule>& rules,
               std::string& reason) {
    if (document == document_ && layout_ != 0 && record.layout == layout_) {
      if (record.count == count_) return Applied::kMade;
      reason = "two records of one layout have other numbers of fields";
      return Applied::kBreach;
    }
    document_ = document;
    layout_ = 0;
    for (Rule& rule : rules) {
      for (size_t i = 0; i < rule.count; ++i) {
        rule.columns[i] = -1;
        for (size_t c = 0; c < record.count; ++c) {
          if (view(record.names[c]) != rule.source.from[i]) continue;
          if (rule.columns[i] >= 0) {
            reason = "there are two columns " + quoted(rule.source.from[i]) +
                     "; each needs a name of its own";
            return Applied::kRefused;
          }
          rule.columns[i] = static_cast<int16_t>(c);
        }
      }
    }
    layout_ = record.layout;
    count_ = record.count;
    return Applied::kMade;
  }

 private:
  uint64_t document_ = 0;
  uint32_t layout_ = 0;  // 0: none
  size_t count_ = 0;
};

std::string no_column(const Rule& rule, size_t which, const girdle_record& record) {
  std::vector<std::string_view> there;
  for (size_t c = 0; c < std::min<size_t>(record.count, 30); ++c)
    there.push_back(view(record.names[c]));
  std::string reason = "there is no column ";
  reason += quoted(rule.source.from[which]) + ", from which the mapping takes " + rule.source.field;
  reason += there.empty() ? "; there is no column at all"
                          : "; there is " + base::excerpt(base::listed(there), 300);
  return reason;
}

std::string no_word(const Rule& rule, std::string_view raw) {
  std::vector<std::string_view> words;
  for (const Word& word : rule.words) words.push_back(word.raw);
  return "holds " + quoted(raw) + ", which the mapping has no word for (it has " +
         base::excerpt(base::listed(words), 300) + ")";
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
    const Applied bound = columns_.bind(record, document, rules_, reason);
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

  // What every record would be refused for, told once: a constant that does not fit its field.
  void try_constants(std::vector<Fault>& faults) const {
    for (const Rule& rule : rules_) {
      if (!rule.constant) continue;
      Record trial;
      std::string reason;
      if (fill_from(rule, without_outer_space(rule.source.constant), trial, reason)) continue;
      const model::FieldRule& source = rule.source;
      faults.push_back({source.constant_mark.line != 0 ? source.constant_mark : source.mark,
                        "value: " + std::move(reason)});
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
    for (size_t i = rule.count; i-- > 0;) {
      if (rule.columns[i] < 0) missing = i;
    }
    for (size_t i = 0; i < rule.count; ++i) {
      if (i > 0) joined_ += ' ';
      if (rule.columns[i] >= 0) joined_ += value(record, rule.columns[i]);
    }
    const std::string_view text = without_outer_space(joined_);
    if (missing < rule.count && (!sparse_ || (text.empty() && rule.required))) {
      reason = no_column(rule, missing, record);
      return false;
    }
    return fill_from(rule, text, out, reason);
  }

  static std::string_view value(const girdle_record& record, int16_t column) {
    return without_outer_space(view(record.values[column]));
  }

  static bool empty(const Rule& rule, std::string& reason) {
    if (!rule.required) return true;
    reason = rule.source_name() + " is empty, and " + rule.source.field + " has to be there";
    return false;
  }

  bool fill_from(const Rule& rule, std::string_view text, Record& out, std::string& reason) const {
    if (rule.has_words) {
      const std::string* const word = rule.word(text);
      if (word) {
        text = *word;
      } else if (!text.empty()) {
        reason = rule.source_name() + ' ' + no_word(rule, text);
        return false;
      }
    }
    if (text.empty()) return empty(rule, reason);
    if (set(rule, text, out, reason)) return true;
    reason = rule.source_name() + ' ' + reason;
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
    reason = "holds " + quoted(text) + ", which is not " + std::string(words_for(rule.take)) +
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
      reason = "holds " + quoted(text) +
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
    reason = "holds " + quoted(text) + "; a position has no # in it";
    return false;
  }

  std::vector<Rule> rules_;
  const std::span<const Field<Record>> fields_ = fields_of<Record>();
  bool sparse_;
  bool maps_position_;
  Columns columns_;
  std::string joined_;
};

base::Error error_of(const model::Mapping& mapping, const Fault& fault) {
  std::string text = mapping.file;
  if (fault.mark.line != 0) {
    text += ':' + std::to_string(fault.mark.line) + ':' + std::to_string(fault.mark.column);
  }
  return base::input_error(text + ": " + fault.text);
}

template <class Record>
std::optional<FieldFacts> facts_of(std::string_view name) {
  if (name.starts_with("extra.") && name.size() > 6) return FieldFacts{.take = Take::kExtra};
  const auto fields = fields_of<Record>();
  for (size_t i = 0; i < fields.size(); ++i) {
    if (fields[i].name == name)
      return FieldFacts{i, fields[i].take, fields[i].range, fields[i].required};
  }
  return std::nullopt;
}

// The rules that are right by themselves, and what is wrong with the others.
template <class Record>
std::vector<Rule> compile_rules(const model::Mapping& mapping, std::string_view timezone,
                                std::vector<Fault>& faults) {
  std::vector<Rule> rules;
  for (const model::FieldRule& source : mapping.fields) {
    const auto facts = facts_of<Record>(source.field);
    if (!facts || (facts->take == Take::kExtra && std::is_same_v<Record, Scan>)) {
      faults.push_back(
          {source.mark, "there is no field " + quoted(source.field) + " in this kind of record"});
      continue;
    }
    auto rule = compile_rule(source, *facts, mapping, timezone);
    if (rule) {
      rules.push_back(std::move(rule).value());
    } else {
      faults.push_back({source.mark, source.field + ": " + rule.error().text});
    }
  }
  return rules;
}

template <class Record>
void check_fields(const model::Mapping& mapping, std::vector<Fault>& faults) {
  const auto& given = mapping.fields;
  for (size_t i = 0; i < given.size(); ++i) {
    const bool again = std::any_of(given.begin(), given.begin() + static_cast<std::ptrdiff_t>(i),
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

// A mapper of the rules that are right; of all of them where there are no faults.
template <class Record>
std::unique_ptr<Mapper::Impl> compile_for(const model::Mapping& mapping, std::string_view timezone,
                                          bool sparse, std::vector<Fault>& faults) {
  std::vector<Rule> rules = compile_rules<Record>(mapping, timezone, faults);
  check_fields<Record>(mapping, faults);
  // A record keeps extra.* in the order of their names.
  std::stable_sort(rules.begin(), rules.end(),
                   [](const Rule& a, const Rule& b) { return a.extra < b.extra; });
  auto mapper = std::make_unique<RecordMapper<Record>>(std::move(rules), sparse);
  mapper->try_constants(faults);
  return mapper;
}

std::unique_ptr<Mapper::Impl> compile_kind(const model::Mapping& mapping, std::string_view timezone,
                                           bool sparse, std::vector<Fault>& faults) {
  switch (mapping.record) {
    case RecordKind::kReading:
      return compile_for<Reading>(mapping, timezone, sparse, faults);
    case RecordKind::kDeclaration:
      return compile_for<Declaration>(mapping, timezone, sparse, faults);
    case RecordKind::kScan:
      return compile_for<Scan>(mapping, timezone, sparse, faults);
  }
  faults.push_back({{}, "no such kind of record"});
  return nullptr;
}

}  // namespace

base::Result<Mapper> Mapper::compile(const model::Mapping& mapping, std::string_view timezone,
                                     bool sparse) {
  std::vector<Fault> faults;
  auto impl = compile_kind(mapping, timezone, sparse, faults);
  if (!faults.empty()) return error_of(mapping, faults.front());
  return Mapper(std::move(impl));
}

std::vector<Fault> Mapper::faults(const model::Mapping& mapping, std::string_view timezone) {
  std::vector<Fault> faults;
  compile_kind(mapping, timezone, false, faults);
  return faults;
}

}  // namespace girdle::reading
