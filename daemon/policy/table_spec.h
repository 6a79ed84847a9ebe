// A decision table as its file has it: the texts of the cells, unread, with their places. config/
// fills it from YAML, tests from JSON. Plain values.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::policy {

// A place in a file, 1-based; 0 = not known.
struct Mark {
  int line = 0, column = 0;
  bool operator==(const Mark&) const = default;
};

// What is wrong with a table, and what would be right.
struct Problem {
  Mark mark;
  std::string text;
};

struct TableSpec {
  struct Input {
    // The name of a fact, blanks and hyphens too; or a simple expression over facts, its minus
    // between blanks.
    std::string expression = {};
    std::string type = {};  // number, string, boolean, date, …; empty or Any = not said
    // Unary tests over literals; empty = all. Null passes them: see `required`.
    std::string allowed_values = {};
    bool required = false;  // null is an input error
    Mark mark = {};
  };
  struct Output {
    std::string name = {};  // may be empty where there is only one output
    std::string type = {};  // as of Input
    // As of Input. A list of literals ranks the outputs for PRIORITY and OUTPUT ORDER, best first.
    std::string allowed_values = {};
    // What no rule gives; empty = none. All outputs have one, or none has.
    std::string default_value = {};
    Mark mark = {};
  };
  struct Rule {
    std::vector<std::string> when = {}, then = {};  // one cell for each input, one for each output
    std::string note = {};                          // why this rule is here; never changes a result
    Mark mark = {};
    std::vector<Mark> when_marks = {}, then_marks = {};  // may be left empty: then `mark` counts
  };

  std::string hit_policy = "UNIQUE";
  std::string aggregation = {};  // COLLECT only: SUM, MIN, MAX, COUNT; empty = a list
  std::vector<Input> inputs = {};
  std::vector<Output> outputs = {};
  std::vector<Rule> rules = {};
  // Where names of facts hold blanks and signs (files that others drew): all facts that cells and
  // expressions may name, each with single blanks.
  std::vector<std::string> names = {};
  Mark mark = {};
};

// A cell of an output, without blanks around it. Lent by the table.
struct OutputCell {
  std::string_view text;
  Mark mark;
};

// Of the output of that name: its default, where it has one, and each rule's. Nothing where the
// table has no such output.
std::optional<std::vector<OutputCell>> output_cells(const TableSpec& spec, std::string_view output);

// What a cell that is a text in double quotes says; nothing for any other.
std::optional<std::string_view> text_literal(std::string_view cell);

}  // namespace girdle::policy
