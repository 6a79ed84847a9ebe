// Cuts the text of a cell into literals, names and marks.
//
// Grammar: DMN 1.5 clause 9.2, rules 13, 14 and 28-38, with some things of clause 10: null,
// exponents, the escape \U with six digits, date and time("…") and @"…". Names are
// [A-Za-z_][A-Za-z0-9_.]*; a "." that is followed by another "." ends a name, so that a..b is a
// range. Names that are said to be in scope may hold anything: the longest that fits is taken
// (10.3.1.6), and any white space stands for one of its blanks. Private to policy/; what is lent
// must live as long as the scanner.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "policy/value.h"

namespace girdle::policy {

// A literal, or the value of a fact that is named.
struct Operand {
  Value literal = {};
  int32_t fact = -1;  // place of the fact; -1 = the literal counts

  bool is_name() const { return fact >= 0; }
  // A fact that was not handed over is missing.
  const Value& value(std::span<const Value> facts) const {
    if (!is_name()) return literal;
    return static_cast<size_t>(fact) < facts.size() ? facts[static_cast<size_t>(fact)] : kNull;
  }
};

class CellScanner {
 public:
  // Longer cells are refused, so that no file makes us hold much more than itself.
  static constexpr size_t kMaxBytes = size_t{64} * 1024;

  // Names are added to `names`, each once; operands point into it by place.
  CellScanner(std::string_view text, std::vector<std::string>& names,
              std::span<const std::string> in_scope = {})
      : text_(text), names_(names), in_scope_(in_scope) {}

  // The text as a whole: not too long, UTF-8, not empty.
  base::Result<void> check() const;
  // The same of a text that has to be a value.
  base::Result<void> check_value() const;

  // All of these pass over white space first.
  bool at_end();
  bool at_operator();
  // A minus that stands before digits counts.
  bool at_number();
  bool take(std::string_view mark);
  // "not" and the bracket behind it.
  bool take_not();
  base::Result<Operand> operand();

  // "at character N: " and what is wrong there; N counts from 1, in bytes.
  base::Error error(std::string text) const;
  // What to say of text that remains where `expected` should be.
  base::Error unexpected(std::string_view expected);

 private:
  void skip_spaces();
  char peek(size_t ahead = 0) const;
  std::string_view word() const;
  base::Result<Operand> number();
  base::Result<Operand> string();
  base::Result<void> escape(std::string& out);
  base::Result<uint32_t> code_point(size_t digits);
  base::Result<Operand> word_operand();
  std::optional<Operand> name_in_scope();
  size_t length_of(std::string_view name) const;
  // From the bracket on; `begin` is where the literal begins.
  base::Result<Operand> temporal(std::string_view kind, size_t begin);
  base::Result<Operand> at_literal();
  Operand name(std::string_view name);

  std::string_view text_;
  size_t at_ = 0;
  std::vector<std::string>& names_;
  std::span<const std::string> in_scope_;
};

// A whole text that is one literal or name.
base::Result<Operand> parse_operand(std::string_view text, std::vector<std::string>& names);

}  // namespace girdle::policy
