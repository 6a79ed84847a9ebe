// From the texts of a table file to a table, or to all that is wrong with them.
#include <algorithm>
#include <utility>

#include "base/text.h"
#include "policy/table.h"

namespace girdle::policy {
namespace {

using base::in_quotes;

std::string kind_of(const Value& value) { return "a " + std::string(type_name(*type_of(value))); }

// date("2026-11-02"), duration("P1D"), …
std::string literal_of(Type type, const std::string& text) {
  const bool duration = type == Type::kDaysDuration || type == Type::kMonthsDuration;
  return std::string(duration ? "duration" : type_name(type)) + "(\"" + text + "\")";
}

// How a literal that is probably meant would be written in a column of a type.
std::string rewritten(const Value& literal, Type type) {
  const auto* text = std::get_if<std::string>(&literal);
  if (text == nullptr) return type == Type::kString ? "; write " + in_quotes(plain_text(literal)) : "";
  if (!value_of_text(*text, type))
    return is_temporal(type) ? "; write " + literal_of(type, std::string(example_of(type))) : "";
  return "; write " + (is_temporal(type) ? literal_of(type, *text) : *text);
}

}  // namespace

class TableCompiler {
 public:
  TableCompiler(const TableSpec& spec, std::span<const KnownFact> known)
      : spec_(spec), known_(known) {}

  std::variant<Table, std::vector<Problem>> run() {
    read_hit_policy();
    for (const auto& input : spec_.inputs) read_input(input);
    for (const auto& output : spec_.outputs) read_output(output);
    check_output_names();
    for (size_t i = 0; i < spec_.rules.size(); ++i) read_rule(i);
    if (spec_.rules.empty()) report(spec_.mark, "the table has no rules");
    check_ranking();
    check_aggregation();
    settle_facts();
    if (!problems_.empty()) return std::move(problems_);
    index_rules();
    return std::move(table_);
  }

 private:
  // Where a cell stands, for messages: "rule 3, input "valid"".
  struct Place {
    Mark mark;
    std::string label;
  };

  void report(Mark mark, std::string text) { problems_.push_back({mark, std::move(text)}); }
  void report(const Place& place, const std::string& text) {
    report(place.mark, place.label + ": " + text);
  }

  void read_hit_policy();
  void read_input(const TableSpec::Input& input);
  void read_output(const TableSpec::Output& output);
  void read_default(const TableSpec::Output& output, const Place& place);
  void check_output_names();
  void read_rule(size_t index);
  UnaryTest read_test(const std::string& text, size_t column, const Place& place);
  size_t input_of(Expression expression, std::string_view text, Table::InputColumn& column,
                  const Place& place);
  Operand read_output_cell(const std::string& text, size_t column, const Place& place);
  void check_ranking();
  void check_aggregation();

  // Facts that expressions compute, and their places until all facts are known.
  static constexpr size_t kFirstComputed = size_t{1} << 30;
  struct Pending {
    Table::Computed computed;
    std::string text;
    std::optional<Type> type;  // what its column holds
    Place place;
  };
  bool is_expression(std::string_view text) const;
  size_t compute(Expression expression, std::string_view text, std::optional<Type> type,
                 bool is_input, size_t column, const Place& place);
  void settle_facts();
  void index_rules();
  void type_operands(const Pending& pending);
  std::optional<Type> check_kinds(const Pending& pending);

  std::optional<Type> read_type(const std::string& name, const Place& place);
  // False when there is nothing to check against.
  bool read_allowed(const std::string& text, std::optional<Type> type, const Place& place,
                    UnaryTest& allowed);
  void check_comparison(const Comparison& comparison, std::optional<Type> type, const Place& place);
  void check_literal(const Value& literal, std::optional<Type> type, const Place& place);
  void check_allowed(const Value& literal, const UnaryTest& allowed, const Place& place);
  void warn_of_negation(const UnaryTest& test, size_t column, const Place& place);
  void warn_of_marks(std::string_view cell, const Place& place);
  int32_t fact(std::string_view name, std::optional<Type> type, const Place& place);
  void check_known(std::string_view name, const Place& place);
  bool is_always_known(size_t place) const;
  std::vector<int32_t> facts(const std::vector<std::string>& names, std::optional<Type> type,
                             const Place& place);

  const TableSpec& spec_;
  std::span<const KnownFact> known_;
  Table table_;
  std::vector<Pending> pending_;
  std::vector<Problem> problems_;
};

void TableCompiler::read_hit_policy() {
  if (auto policy = hit_policy_named(spec_.hit_policy)) {
    table_.hit_policy_ = *policy;
  } else {
    report(spec_.mark, policy.error().text);
  }
  if (auto aggregation = aggregation_named(spec_.aggregation)) {
    table_.aggregation_ = *aggregation;
  } else {
    report(spec_.mark, aggregation.error().text);
  }
}

std::optional<Type> TableCompiler::read_type(const std::string& name, const Place& place) {
  if (name.empty() || name == "Any") return std::nullopt;
  const auto type = type_named(name);
  if (!type) {
    report(place, "unknown type " + in_quotes(name) +
                      "; it is one of number, string, boolean, date, time, date and time, days "
                      "and time duration, years and months duration");
  }
  return type;
}

void TableCompiler::read_input(const TableSpec::Input& input) {
  const std::string name(base::trimmed(input.expression));
  const Place place{input.mark, "input " + in_quotes(name)};
  Table::InputColumn column;
  column.required = input.required;
  column.type = read_type(input.type, place);
  if (name.empty()) report(place, "the expression is empty; write the name of a fact");
  if (!is_expression(name)) {
    column.fact = static_cast<size_t>(fact(name, column.type, place));
    if (!column.type) column.type = table_.fact_types_[column.fact];
  } else if (auto expression = Expression::parse(name, spec_.names)) {
    column.fact = input_of(std::move(*expression), name, column, place);
  } else {
    report(place, "cannot read the expression: " + expression.error().text);
  }
  column.has_allowed = read_allowed(input.allowed_values, column.type, place, column.allowed);
  table_.inputs_.push_back(std::move(column));
}

bool TableCompiler::read_allowed(const std::string& text, std::optional<Type> type,
                                 const Place& place, UnaryTest& allowed) {
  if (base::trimmed(text).empty()) return false;
  auto test = UnaryTest::parse(text);
  if (!test) {
    report(place, "the allowed values: " + test.error().text);
    return false;
  }
  if (!test->names().empty()) {
    report(place, "the allowed values name " + in_quotes(test->names().front()) +
                      "; they are literals, and texts stand in double quotes");
    return false;
  }
  for (const Comparison& comparison : test->comparisons()) {
    check_comparison(comparison, type, place);
  }
  allowed = std::move(*test);
  return true;
}

void TableCompiler::read_output(const TableSpec::Output& output) {
  const Place place{output.mark, "output " + in_quotes(output.name)};
  Table::OutputColumn column;
  column.type = read_type(output.type, place);
  column.has_allowed = read_allowed(output.allowed_values, column.type, place, column.allowed);
  if (column.has_allowed && !column.allowed.is_negated()) {
    for (const Comparison& comparison : column.allowed.comparisons()) {
      if (comparison.kind == Comparison::Kind::kEqual) {
        column.order.push_back(comparison.low.literal);
      }
    }
  }
  table_.outputs_.push_back(std::move(column));
  if (!output.default_value.empty()) read_default(output, place);
}

void TableCompiler::read_default(const TableSpec::Output& output, const Place& place) {
  const Place at{place.mark, place.label + ", default"};
  const auto expression = Expression::parse(output.default_value, spec_.names);
  if (!expression) return report(at, expression.error().text);
  const Operand* operand = expression->operand();
  if (operand == nullptr || operand->is_name()) {
    return report(at, "it is a literal; texts stand in double quotes");
  }
  const Table::OutputColumn& column = table_.outputs_.back();
  check_literal(operand->literal, column.type, at);
  if (column.has_allowed) check_allowed(operand->literal, column.allowed, at);
  table_.defaults_.push_back(operand->literal);
}

void TableCompiler::check_output_names() {
  if (spec_.outputs.empty()) report(spec_.mark, "the table has no outputs");
  const auto given = std::ranges::count_if(
      spec_.outputs, [](const auto& output) { return !output.default_value.empty(); });
  if (given != 0 && static_cast<size_t>(given) != spec_.outputs.size()) {
    report(spec_.mark, "some outputs have a default and some have none; give it to all");
  }
  std::vector<std::string> names;
  for (const auto& output : spec_.outputs) {
    if (output.name.empty() && spec_.outputs.size() > 1) {
      report(output.mark, "an output has no name; each of several outputs needs one");
    } else if (std::ranges::find(names, output.name) != names.end()) {
      report(output.mark, "two outputs are named " + in_quotes(output.name));
    }
    names.push_back(output.name);
  }
  table_.output_names_ = std::make_shared<const std::vector<std::string>>(std::move(names));
}

void TableCompiler::read_rule(size_t index) {
  const TableSpec::Rule& rule = spec_.rules[index];
  const std::string label = "rule " + std::to_string(index + 1);
  const auto count_is = [&](size_t cells, size_t columns, std::string_view what) {
    if (cells == columns) return true;
    report({rule.mark, label}, std::to_string(cells) + " cells in \"" + std::string(what) +
                                   "\"; the table needs " + std::to_string(columns));
    return false;
  };
  const auto place_of = [&](const std::vector<Mark>& marks, size_t i, std::string column) {
    return Place{i < marks.size() ? marks[i] : rule.mark, label + ", " + std::move(column)};
  };

  Table::Rule row;
  row.note = rule.note;
  if (count_is(rule.when.size(), spec_.inputs.size(), "when")) {
    for (size_t i = 0; i < rule.when.size(); ++i) {
      const auto name = in_quotes(base::trimmed(spec_.inputs[i].expression));
      auto test = read_test(rule.when[i], i, place_of(rule.when_marks, i, "input " + name));
      if (test.accepts_anything()) continue;
      row.cells.push_back(
          {i, table_.inputs_[i].fact, std::move(test), std::string(base::trimmed(rule.when[i]))});
    }
  }
  if (count_is(rule.then.size(), spec_.outputs.size(), "then")) {
    for (size_t i = 0; i < rule.then.size(); ++i) {
      const auto name = in_quotes(spec_.outputs[i].name);
      row.then.push_back(
          read_output_cell(rule.then[i], i, place_of(rule.then_marks, i, "output " + name)));
    }
  }
  table_.rules_.push_back(std::move(row));
}

UnaryTest TableCompiler::read_test(const std::string& text, size_t column, const Place& place) {
  const Table::InputColumn& input = table_.inputs_[column];
  auto test = UnaryTest::parse(text, spec_.names);
  if (!test) {
    report(place, "cannot read the cell " + in_quotes(text) + ": " + test.error().text);
    return {};
  }
  for (const Comparison& comparison : test->comparisons()) {
    check_comparison(comparison, input.type, place);
    if (!input.has_allowed || !comparison.is_equality() || comparison.low.is_name()) continue;
    check_allowed(comparison.low.literal, input.allowed, place);
  }
  warn_of_negation(*test, column, place);
  if (input.type.value_or(Type::kNumber) == Type::kNumber) warn_of_marks(text, place);
  test->bind(facts(test->names(), input.type, place));
  return std::move(*test);
}

// Null passes: a cell may ask for a missing value, an output may say none.
void TableCompiler::check_literal(const Value& literal, std::optional<Type> type,
                                  const Place& place) {
  if (!type || is_null(literal) || has_type(literal, *type)) return;
  report(place, to_json(literal) + " is " + kind_of(literal) + ", and the column holds a " +
                    std::string(type_name(*type)) + rewritten(literal, *type));
}

void TableCompiler::check_comparison(const Comparison& comparison, std::optional<Type> type,
                                     const Place& place) {
  const auto check = [&](const Operand& operand) {
    if (operand.is_name()) return;
    check_literal(operand.literal, type, place);
    if (comparison.is_equality()) return;
    if (is_null(operand.literal)) report(place, "nothing is less or more than null");
    if (!type && has_type(operand.literal, Type::kBoolean)) {
      report(place, "true and false have no order");
    }
  };
  check(comparison.low);
  if (comparison.kind == Comparison::Kind::kWithin) check(comparison.high);
  if (type == Type::kBoolean && !comparison.is_equality()) {
    report(place, "true and false have no order; compare them with =");
  }
}

void TableCompiler::check_allowed(const Value& literal, const UnaryTest& allowed,
                                  const Place& place) {
  if (is_null(literal) || allowed.evaluate(literal, {}) != Truth::kFalse) return;
  std::string hint;
  if (const auto* text = std::get_if<std::string>(&literal)) {
    std::vector<std::string_view> words;
    for (const Comparison& comparison : allowed.comparisons()) {
      const auto* word = std::get_if<std::string>(&comparison.low.literal);
      if (word != nullptr && !allowed.is_negated()) words.push_back(*word);
    }
    const auto near = base::nearest(*text, words);
    if (!near.empty()) hint = "; did you mean " + in_quotes(near) + "?";
  }
  report(place, to_json(literal) + " is outside the allowed values of the column" + hint);
}

void TableCompiler::warn_of_negation(const UnaryTest& test, size_t column, const Place& place) {
  if (table_.inputs_[column].required || is_always_known(table_.inputs_[column].fact)) return;
  // null = 5 is false, so its negation is true; an order with null is unknown, and so is its
  // negation.
  const bool matches_null =
      test.is_negated() ? std::ranges::all_of(test.comparisons(),
                                              [](const Comparison& c) {
                                                return c.kind == Comparison::Kind::kEqual &&
                                                       !c.low.is_name() && !is_null(c.low.literal);
                                              })
                        : std::ranges::any_of(test.comparisons(), [](const Comparison& c) {
                            return c.kind == Comparison::Kind::kNotEqual && !c.low.is_name() &&
                                   !is_null(c.low.literal);
                          });
  if (!matches_null) return;
  table_.warnings_.push_back(
      {place.mark, place.label + ": the negation matches a missing value too; say required: true, "
                                 "or list the values that are meant"});
}

// "> 1,000" is "> 1, 0", a list: hardly what was meant.
void TableCompiler::warn_of_marks(std::string_view cell, const Place& place) {
  bool is_text = false;
  for (size_t i = 0; i < cell.size(); ++i) {
    if (cell[i] == '"') is_text = !is_text;
    const bool is_mark = cell[i] == ',' && !is_text && i > 0 && i + 1 < cell.size() && base::is_digit(cell[i - 1]) &&
                         base::is_digit(cell[i + 1]);
    if (!is_mark) continue;
    table_.warnings_.push_back(
        {place.mark, place.label + ": the comma in " + in_quotes(cell) +
                         " ends one test of a list and begins the next; a number has no mark for thousands and a point "
                         "for decimals (1000, 0.5). For a list, put a blank behind the comma"});
    return;
  }
}

Operand TableCompiler::read_output_cell(const std::string& text, size_t column,
                                        const Place& place) {
  const Table::OutputColumn& output = table_.outputs_[column];
  auto expression = Expression::parse(text, spec_.names);
  if (!expression) {
    report(place, "cannot read the cell " + in_quotes(text) + ": " + expression.error().text);
    return {};
  }
  if (expression->operand() == nullptr) {
    const size_t at =
        compute(std::move(*expression), base::trimmed(text), output.type, false, column, place);
    return Operand{{}, static_cast<int32_t>(at)};
  }
  Operand operand = *expression->operand();
  if (operand.is_name()) {
    operand.fact = fact(expression->names().front(), output.type, place);
    return operand;
  }
  check_literal(operand.literal, output.type, place);
  if (output.has_allowed) check_allowed(operand.literal, output.allowed, place);
  return operand;
}

// In our own files a name may hold blanks and hyphens; a minus stands between blanks.
bool TableCompiler::is_expression(std::string_view text) const {
  if (!spec_.names.empty()) return true;
  return text.find_first_of("+*/()<>=@\"") != std::string_view::npos ||
         text.find(" - ") != std::string_view::npos || text.starts_with('-') ||
         base::Decimal::parse(text).has_value();
}

// The place of what an input column tests: a fact's, where its expression is no more than a name.
size_t TableCompiler::input_of(Expression expression, std::string_view text,
                               Table::InputColumn& column, const Place& place) {
  const Operand* operand = expression.operand();
  if (operand != nullptr && operand->is_name()) {
    const auto at = static_cast<size_t>(fact(expression.names().front(), column.type, place));
    if (!column.type) column.type = table_.fact_types_[at];
    return at;
  }
  if (operand != nullptr) report(place, "the expression asks no fact; write the name of one");
  return compute(std::move(expression), text, column.type, true, table_.inputs_.size(), place);
}

size_t TableCompiler::compute(Expression expression, std::string_view text,
                              std::optional<Type> type, bool is_input, size_t column,
                              const Place& place) {
  expression.bind(facts(expression.names(), std::nullopt, place));
  pending_.push_back({{std::move(expression), is_input, column}, std::string(text), type, place});
  return kFirstComputed + pending_.size() - 1;
}

// In a column of numbers, facts of which nothing else is known are numbers: then they may be given
// as texts of digits.
void TableCompiler::type_operands(const Pending& pending) {
  if (pending.type != Type::kNumber || pending.computed.expression.has_temporal_literal()) return;
  for (const std::string& name : pending.computed.expression.names()) {
    const auto at = std::ranges::find(table_.fact_names_, name);
    std::optional<Type>& type =
        table_.fact_types_[static_cast<size_t>(at - table_.fact_names_.begin())];
    if (!type) type = Type::kNumber;
  }
}

// What an expression gives, tried on a value of each fact's type. What goes wrong but for the kinds
// hangs on the values.
std::optional<Type> TableCompiler::check_kinds(const Pending& pending) {
  std::vector<Value> samples;
  for (const std::optional<Type>& type : table_.fact_types_) {
    samples.push_back(type ? *value_of_text(example_of(*type), *type) : Value());
  }
  const auto value = pending.computed.expression.evaluate(samples);
  if (value) return type_of(*value);
  if (value.error().fault == base::Fault::kCall) {
    report(pending.place, in_quotes(pending.text) + ": by the types of its facts it is such as " +
                              value.error().text);
  }
  return std::nullopt;
}

// All facts are known: those that are computed take their places behind them.
void TableCompiler::settle_facts() {
  for (const Pending& pending : pending_) type_operands(pending);
  std::vector<std::optional<Type>> types;
  for (const Pending& pending : pending_) {
    const auto type = check_kinds(pending);
    if (type && pending.type && *type != *pending.type) {
      report(pending.place, in_quotes(pending.text) + " gives a " + std::string(type_name(*type)) +
                                ", and the column holds a " +
                                std::string(type_name(*pending.type)));
    }
    types.push_back(pending.type ? pending.type : type);
  }
  table_.given_names_ = table_.fact_names_;
  table_.given_types_ = table_.fact_types_;
  const size_t given = table_.given_names_.size();
  for (size_t i = 0; i < pending_.size(); ++i) {
    table_.fact_names_.push_back(std::move(pending_[i].text));
    table_.fact_types_.push_back(types[i]);
    table_.computed_.push_back(std::move(pending_[i].computed));
  }
  const auto settled = [&](size_t fact) {
    return fact < kFirstComputed ? fact : fact - kFirstComputed + given;
  };
  for (auto& input : table_.inputs_) input.fact = settled(input.fact);
  for (auto& rule : table_.rules_) {
    for (auto& cell : rule.cells) cell.fact = settled(cell.fact);
    for (Operand& cell : rule.then) {
      if (cell.is_name()) cell.fact = static_cast<int32_t>(settled(static_cast<size_t>(cell.fact)));
    }
  }
}

void TableCompiler::check_ranking() {
  if (!ranks_outputs(table_.hit_policy_)) return;
  const auto ranks = [](const Table::OutputColumn& column) { return !column.order.empty(); };
  if (std::ranges::any_of(table_.outputs_, ranks)) return;
  report(spec_.mark, std::string(name_of(table_.hit_policy_)) +
                         " needs the allowed_values of an output as a list, the best first");
}

void TableCompiler::check_aggregation() {
  if (table_.aggregation_ == Aggregation::kNone) return;
  if (table_.hit_policy_ != HitPolicy::kCollect) {
    report(spec_.mark, "an aggregation goes with the hit policy COLLECT only");
  }
  if (table_.outputs_.size() > 1) {
    report(spec_.mark, "an aggregation goes with one output only (8.2.10)");
  }
  if (table_.aggregation_ == Aggregation::kCount || table_.outputs_.empty()) return;
  const std::string wants = std::string(name_of(table_.aggregation_)) + " needs numbers as outputs";
  const auto type = table_.outputs_.front().type;
  if (type && *type != Type::kNumber) report(spec_.outputs.front().mark, wants);
  for (size_t i = 0; i < table_.rules_.size(); ++i) {
    const auto& then = table_.rules_[i].then;
    if (type || then.empty() || then.front().is_name()) continue;
    if (!has_type(then.front().literal, Type::kNumber)) report(spec_.rules[i].mark, wants);
  }
}

void TableCompiler::index_rules() {
  std::vector<RuleIndex::Cell> cells;
  for (size_t rule = 0; rule < table_.rules_.size(); ++rule) {
    for (const Table::Cell& cell : table_.rules_[rule].cells) cells.push_back({rule, cell.column, cell.fact, &cell.test});
  }
  table_.index_ = RuleIndex(table_.rules_.size(), cells, table_.fact_types_);
}

// By whoever asks the table.
bool TableCompiler::is_always_known(size_t place) const {
  if (place >= table_.fact_names_.size()) return false;  // it is calculated
  const auto known = std::ranges::find(known_, table_.fact_names_[place], &KnownFact::name);
  return known != known_.end() && known->is_always_known;
}

void TableCompiler::check_known(std::string_view name, const Place& place) {
  std::vector<std::string_view> names;
  for (const KnownFact& known : known_) names.push_back(known.name);
  const auto near = base::nearest(name, names);
  report(place, "there is no fact " + in_quotes(name) +
                    (near.empty() ? "" : "; did you mean " + in_quotes(near) + "?") +
                    "; a text stands in double quotes");
}

// The place of a fact in evaluate()'s list. A fact has one type, whoever asks for it.
int32_t TableCompiler::fact(std::string_view name, std::optional<Type> type, const Place& place) {
  const auto known = std::ranges::find(known_, name, &KnownFact::name);
  if (known != known_.end()) {
    if (known->type && type && *known->type != *type) {
      report(place, in_quotes(name) + " is a " + std::string(type_name(*known->type)) + ", not a " +
                        std::string(type_name(*type)));
    }
    if (!type) type = known->type;
  } else if (!known_.empty() && !name.empty()) {
    check_known(name, place);
  }
  auto& names = table_.fact_names_;
  const auto place_of = std::ranges::find(names, name);
  const auto index = static_cast<size_t>(place_of - names.begin());
  if (place_of == names.end()) {
    names.emplace_back(name);
    table_.fact_types_.push_back(type);
    return static_cast<int32_t>(index);
  }
  std::optional<Type>& agreed = table_.fact_types_[index];
  if (agreed && type && *agreed != *type) {
    report(place, in_quotes(name) + " is a " + std::string(type_name(*agreed)) +
                      " elsewhere in the table, and a " + std::string(type_name(*type)) + " here");
  }
  if (!agreed) agreed = type;
  return static_cast<int32_t>(index);
}

std::vector<int32_t> TableCompiler::facts(const std::vector<std::string>& names,
                                          std::optional<Type> type, const Place& place) {
  std::vector<int32_t> places;
  places.reserve(names.size());
  for (const std::string& name : names) places.push_back(fact(name, type, place));
  return places;
}

std::variant<Table, std::vector<Problem>> Table::compile(const TableSpec& spec,
                                                         std::span<const KnownFact> known) {
  return TableCompiler(spec, known).run();
}

}  // namespace girdle::policy
