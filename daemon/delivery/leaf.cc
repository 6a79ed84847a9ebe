#include "delivery/leaf.h"

#include <algorithm>
#include <charconv>

#include "base/json.h"
#include "base/text.h"

namespace girdle::delivery {
namespace {

using base::in_quotes;
using base::input_error;
using base::is_json_number;
using base::Result;
using simdjson::dom::element_type;
using Kind = Value::Kind;
using Type = config::Leaf::Type;

bool is_flag(std::string_view text) { return text == "true" || text == "false"; }

}  // namespace

// Says all that is wrong with one leaf.
class LeafCompiler {
 public:
  LeafCompiler(const config::Leaf& source, Leaf::Holds holds, const base::Zone& site,
               const config::Report& report)
      : source_(source), holds_(holds), site_(site), report_(report) {}

  std::optional<Leaf> compile() {
    const size_t before = report_.count();
    set_type();
    if (source_.from.empty()) {
      read_constant();
    } else {
      read_from();
    }
    if (report_.count() != before) return std::nullopt;
    return std::move(leaf_);
  }

 private:
  void wrong(std::string text) const { report_(source_.mark, std::move(text)); }

  void set_type() {
    leaf_.as_it_is_ = source_.type == Type::kAsItIs;
    switch (source_.type) {
      case Type::kText:
      case Type::kAsItIs:
        leaf_.as_ = Kind::kText;
        break;
      case Type::kNumber:
        leaf_.as_ = Kind::kNumber;
        break;
      case Type::kFlag:
        leaf_.as_ = Kind::kFlag;
        break;
      case Type::kNull:
        leaf_.as_ = Kind::kNone;
        break;
    }
  }

  // The constant, or the default.
  void set_fallback(const std::string& text, Kind kind) {
    leaf_.fallback_text_ = std::make_unique<std::string>(text);
    leaf_.fallback_ = Value{kind, *leaf_.fallback_text_, {}};
  }

  // A text of the configuration that is sent as it is.
  void check_sent(const model::Mark& mark, std::string_view key, const std::string& text) const {
    if (!base::is_utf8(text)) {
      report_(mark, std::string(key) + in_quotes(text) + " is not UTF-8");
    } else if (leaf_.as_ == Kind::kNumber && !is_json_number(text)) {
      report_(mark, std::string(key) + in_quotes(text) +
                        " is no number as JSON writes them, such as -12 or 0.53");
    } else if (leaf_.as_ == Kind::kFlag && !is_flag(text)) {
      report_(mark, std::string(key) + in_quotes(text) + " is neither true nor false");
    }
  }

  void read_constant() {
    if (!source_.words.empty() || source_.has_default || !source_.form.empty() ||
        !source_.zone.empty() || source_.decimal_mark != '.') {
      wrong("a constant is sent as it is: words, default, decimal, form and zone go with  from");
    }
    if (leaf_.as_ == Kind::kNone) return;
    check_sent(source_.mark, "", source_.constant);
    set_fallback(source_.constant, leaf_.as_);
  }

  void read_from() {
    for (const config::Text& pointer : source_.from) add_source(pointer);
    if (leaf_.sources_.size() != source_.from.size())
      return;  // the rest would be said of the wrong field
    leaf_.join_ = source_.join;
    if (source_.type == Type::kNull) wrong("as: null is no kind of value that an event can have");
    check_type();
    read_words();
    read_default();
    read_decimal();
    read_time();
  }

  void add_source(const config::Text& pointer) {
    Leaf::Source source;
    std::string why;
    if (!compile_path(pointer.text, source.path, why)) return report_(pointer.mark, "from: " + why);
    const FieldKind kind = source.path.field->kind;
    if (kind == FieldKind::kObject || kind == FieldKind::kList) {
      const std::string what =
          pointer.text + (kind == FieldKind::kList ? " is a list" : " is an object");
      if (holds_ == Leaf::Holds::kTexts) {
        return report_(
            pointer.mark,
            "from: " + what + ", which only a body of JSON can hold; name one of its fields");
      }
      if (source_.from.size() > 1)
        return report_(pointer.mark, "from: " + what + ", and only texts are joined");
      if (source_.type != Type::kAsItIs)
        return report_(pointer.mark, "from: " + what + ", and goes as it is, without  as");
    }
    leaf_.sources_.push_back(std::move(source));
  }

  static std::string_view kind_name(FieldKind kind) {
    switch (kind) {
      case FieldKind::kText:
        return "a text";
      case FieldKind::kNumber:
        return "a number";
      case FieldKind::kFlag:
        return "true or false";
      case FieldKind::kDecimal:
        return "a decimal";
      case FieldKind::kTime:
        return "a time";
      case FieldKind::kWord:
        return "a word";
      case FieldKind::kObject:
        return "an object";
      case FieldKind::kList:
        return "a list";
    }
    return "";
  }
  // "/data/site is a text": the first that is none of these kinds.
  std::optional<std::string> other_than(std::initializer_list<FieldKind> kinds) const {
    for (const Leaf::Source& source : leaf_.sources_) {
      const FieldKind kind = source.path.field->kind;
      if (std::find(kinds.begin(), kinds.end(), kind) != kinds.end()) continue;
      return source.path.pointer + " is " + std::string(kind_name(kind));
    }
    return std::nullopt;
  }

  bool writes_unix() const { return source_.form == "unix" || source_.form == "unix_ms"; }

  void check_type() const {
    const bool number = source_.type == Type::kNumber;
    if (!number && source_.type != Type::kFlag) return;
    const std::string key = number ? "as: number: " : "as: flag: ";
    if (leaf_.sources_.size() > 1) return wrong(key + "several fields are joined to a text");
    if (!source_.words.empty()) return;  // the receiver's words are looked at one by one
    if (number) {
      if (writes_unix()) return;
      if (const auto other = other_than({FieldKind::kNumber, FieldKind::kDecimal})) {
        wrong(key + *other + ", which is no number");
      }
    } else if (const auto other = other_than({FieldKind::kFlag})) {
      wrong(key + *other + "; give  words  that are true and false");
    }
  }

  void read_words() {
    if (source_.words.empty()) return;
    if (const auto other = other_than({FieldKind::kWord, FieldKind::kFlag})) {
      return wrong("words: " + *other + ", and not a word of a closed list");
    }
    for (const auto& [ours, theirs] : source_.words) {
      check_sent(theirs.mark, "words: ", theirs.text);
      check_our_word(ours);
      leaf_.words_.emplace_back(ours.text, theirs.text);
    }
    if (!source_.has_default) check_complete();
  }

  static std::span<const std::string_view> words_of(const EventField& field) {
    static constexpr std::string_view kFlags[] = {"true", "false"};
    return field.kind == FieldKind::kFlag ? std::span<const std::string_view>(kFlags) : field.words;
  }
  static bool has(std::span<const std::string_view> words, std::string_view word) {
    return std::find(words.begin(), words.end(), word) != words.end();
  }

  void check_our_word(const config::Text& ours) const {
    const auto same = std::find_if(leaf_.words_.begin(), leaf_.words_.end(),
                                   [&](const auto& pair) { return pair.first == ours.text; });
    if (same != leaf_.words_.end())
      report_(ours.mark, "words: " + in_quotes(ours.text) + " stands there twice");
    const bool known = std::any_of(
        leaf_.sources_.begin(), leaf_.sources_.end(),
        [&](const Leaf::Source& source) { return has(words_of(*source.path.field), ours.text); });
    if (known) return;
    const auto words = words_of(*leaf_.sources_.front().path.field);
    const std::string_view near = base::nearest(ours.text, words);
    report_(ours.mark, "words: " + in_quotes(ours.text) + " is no word of " +
                           leaf_.sources_.front().path.pointer +
                           (near.empty() ? "; they are " + base::listed(words)
                                         : "; did you mean " + in_quotes(near) + "?"));
  }

  void check_complete() const {
    for (const Leaf::Source& source : leaf_.sources_) {
      std::vector<std::string_view> missing;
      for (const std::string_view word : words_of(*source.path.field)) {
        const bool there = std::any_of(leaf_.words_.begin(), leaf_.words_.end(),
                                       [&](const auto& pair) { return pair.first == word; });
        if (!there) missing.push_back(word);
      }
      if (missing.empty()) continue;
      wrong("words: " + source.path.pointer + " can be " + base::listed(missing, "or") +
            " too; say what each is for the receiver, or give a  default");
    }
  }

  void read_default() {
    if (!source_.has_default) return;
    check_sent(source_.default_value.mark, "default: ", source_.default_value.text);
    leaf_.has_default_ = true;
    set_fallback(source_.default_value.text, kind_of_default());
  }

  // Of the kind that the field's own values have, where it can be.
  Kind kind_of_default() const {
    if (!leaf_.as_it_is_ || leaf_.sources_.size() > 1 || !source_.words.empty()) return leaf_.as_;
    const FieldKind kind = leaf_.sources_.front().path.field->kind;
    const std::string& text = source_.default_value.text;
    if (kind == FieldKind::kNumber && is_json_number(text)) return Kind::kNumber;
    if (kind == FieldKind::kFlag && is_flag(text)) return Kind::kFlag;
    return Kind::kText;
  }

  void read_decimal() {
    leaf_.decimal_mark_ = source_.decimal_mark;
    if (source_.decimal_mark == '.') return;
    if (source_.type == Type::kNumber) wrong("decimal: the numbers of JSON have a point");
    if (mark_kind(FieldKind::kDecimal, &Leaf::Source::is_decimal)) return;
    wrong("decimal: " + *other_than({FieldKind::kDecimal}) + ", which has no decimal mark");
  }

  void read_time() {
    if (source_.form.empty() && source_.zone.empty()) return;
    const std::string key = source_.form.empty() ? "zone: " : "form: ";
    if (!mark_kind(FieldKind::kTime, &Leaf::Source::is_time)) {
      return wrong(key + *other_than({FieldKind::kTime}) + ", which is no time");
    }
    auto form = base::TimeForm::compile(source_.form, base::TimeForm::Use::kWrite);
    if (!form) return wrong("form: " + form.error().text);
    auto zone = source_.zone.empty() ? Result<base::Zone>(site_) : base::Zone::find(source_.zone);
    if (!zone) return wrong("zone: " + zone.error().text);
    if (!source_.zone.empty() && !form->asks_for_zone()) {
      wrong("zone: times of the form " + in_quotes(source_.form) + " are the same in every zone");
    }
    leaf_.time_.emplace(Leaf::TimeOut{std::move(form).value(), std::move(zone).value()});
  }

  // False where none of the fields is of the kind.
  bool mark_kind(FieldKind kind, bool Leaf::Source::*mark) {
    bool any = false;
    for (Leaf::Source& source : leaf_.sources_) {
      source.*mark = source.path.field->kind == kind;
      any |= source.*mark;
    }
    return any;
  }

  const config::Leaf& source_;
  const Leaf::Holds holds_;
  const base::Zone& site_;
  const config::Report& report_;
  Leaf leaf_;
};

std::optional<Leaf> Leaf::compile(const config::Leaf& source, Holds holds, const base::Zone& site,
                                  const config::Report& report) {
  return LeafCompiler(source, holds, site, report).compile();
}

bool Leaf::always_has_value() const {
  if (sources_.empty()) return fallback_.kind != Kind::kNone;
  return has_default_ || std::any_of(sources_.begin(), sources_.end(),
                                     [](const Source& source) { return source.path.always; });
}

std::string Leaf::name() const {
  if (sources_.empty()) return "a constant";
  std::string name;
  for (const Source& source : sources_) {
    if (!name.empty()) name += " and ";
    name += source.path.pointer;
  }
  return name;
}

Result<std::string_view> Leaf::word_for(const Source& source, std::string_view ours) const {
  for (const auto& [word, theirs] : words_) {
    if (word == ours) return std::string_view(theirs);
  }
  return input_error(source.path.pointer + ": " + in_quotes(ours) + " is not among the words");
}

Result<void> Leaf::append_text(std::string& out, const Source& source,
                               std::string_view text) const {
  if (source.is_time) {
    const auto instant = base::parse_rfc3339(text);
    if (instant && time_->form.append(out, *instant, time_->zone)) return {};
    return input_error(source.path.pointer + ": " + in_quotes(text) +
                       " cannot be written in that form");
  }
  const size_t start = out.size();
  out += text;
  if (source.is_decimal)
    std::replace(out.begin() + static_cast<std::ptrdiff_t>(start), out.end(), '.', decimal_mark_);
  return {};
}

Result<void> Leaf::append(std::string& out, const Source& source,
                          simdjson::dom::element element) const {
  std::string_view text;
  int64_t number = 0;
  bool flag = false;
  char digits[24];
  if (element.get(text) == simdjson::SUCCESS) {
    // as it is
  } else if (element.get(number) == simdjson::SUCCESS) {
    text = {digits, static_cast<size_t>(std::to_chars(digits, digits + sizeof digits, number).ptr -
                                        digits)};
  } else if (element.get(flag) == simdjson::SUCCESS) {
    text = flag ? "true" : "false";
  } else {
    return input_error(source.path.pointer + ": it is neither a text nor a number");
  }
  if (words_.empty()) return append_text(out, source, text);
  const auto word = word_for(source, text);
  if (!word) return word.error();
  out += *word;
  return {};
}

// No text is copied unless its form is another.
Result<Value> Leaf::one(const Source& source, simdjson::dom::element element,
                        std::string& scratch) const {
  std::string_view text;
  switch (element.type()) {
    case element_type::STRING:
      if (source.is_time || source.is_decimal) break;
      text = element.get_string().value_unsafe();
      if (words_.empty()) return Value{as_, text, {}};
      if (const auto word = word_for(source, text)) return Value{as_, *word, {}};
      if (has_default_) return fallback_;
      return word_for(source, text).error();
    case element_type::OBJECT:
    case element_type::ARRAY:
      return Value{Kind::kTree, {}, element};
    default:
      break;
  }
  scratch.clear();
  const auto written = append(scratch, source, element);
  if (!written && has_default_ && !words_.empty()) return fallback_;
  if (!written) return written.error();
  const bool keeps_kind = as_it_is_ && words_.empty();
  if (keeps_kind && element.is_int64()) return Value{Kind::kNumber, scratch, {}};
  if (keeps_kind && element.is_bool()) return Value{Kind::kFlag, scratch, {}};
  return Value{as_, scratch, {}};
}

Result<Value> Leaf::several(const ParsedEvent& event, std::string& scratch) const {
  scratch.clear();
  bool any = false;
  for (const Source& source : sources_) {
    const auto element = event.find(source.path);
    if (!element || element->is_null()) continue;
    if (any) scratch += join_;
    any = true;
    const auto written = append(scratch, source, *element);
    if (!written && has_default_ && !words_.empty()) return fallback_;
    if (!written) return written.error();
  }
  if (!any) return fallback_;
  return Value{as_, scratch, {}};
}

Result<Value> Leaf::value(const ParsedEvent& event, std::string& scratch) const {
  if (sources_.empty()) return fallback_;
  if (sources_.size() > 1) return several(event, scratch);
  const auto element = event.find(sources_.front().path);
  if (!element || element->is_null()) return fallback_;
  return one(sources_.front(), *element, scratch);
}

}  // namespace girdle::delivery
