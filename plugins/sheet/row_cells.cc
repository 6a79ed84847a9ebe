#include "sheet/row_cells.h"

#include "kit/text.h"
#include "sheet/cell_place.h"
#include "sheet/cell_text.h"
#include "sheet/part_elements.h"
#include "sheet/whole_number.h"
#include "xml/characters.h"
#include "xml/element_path.h"
#include "xml/element_tree.h"

namespace girdle::sheet {

using kit::in_quotes;

namespace {

// White space around a number is none of it (XML Schema, part 2, 4.3.6).
std::string collapsed(std::string_view text) {
  return std::string(xml::without_leading_space(xml::without_trailing_space(text)));
}

}  // namespace

void RowCells::read(std::string_view row) {
  xml::plant(row, document_);
  const pugi::xml_node node = document_.document_element();
  cells_.clear();
  fault_.clear();
  next_column_ = 0;
  set_number(attribute(node, "r"));
  for (const pugi::xml_node one : node.children()) {
    if (one.type() == pugi::node_element && xml::local_part(one.name()) == "c" && fault_.empty())
      cell(one);
  }
}

// A row that does not say its number is the next one.
void RowCells::set_number(std::string_view written) {
  const uint64_t next = number_ + 1;
  const std::optional<uint64_t> number = written.empty() ? next : row_number(written);
  if (number && *number >= next && *number <= kMostRows) {
    number_ = *number;
    return;
  }
  fault_ = written.empty() ? "more rows than a sheet has"
                           : "a row numbered " + in_quotes(written) + " where row " +
                                 std::to_string(next) + " or a later one comes";
  number_ = std::min(next, kMostRows);
}

void RowCells::cell(pugi::xml_node node) {
  if (!set_column(attribute(node, "r"))) return;
  std::string text;
  if (text_of(node, text) && !text.empty()) cells_.push_back({column_, std::move(text)});
}

bool RowCells::set_column(std::string_view written) {
  uint64_t column = next_column_;
  if (!written.empty()) {
    const std::optional<CellPlace> place = cell_place(written);
    if (!place || place->row != number_ || place->column < next_column_) {
      fault_ = "a cell " + in_quotes(written) + " where one of row " + std::to_string(number_) +
               " and of column " + column_letters(static_cast<uint32_t>(next_column_)) +
               " or a later one comes";
      return false;
    }
    column = place->column;
  }
  if (column >= kMostColumns) {
    fault_ = "more cells than a row has";
    return false;
  }
  column_ = static_cast<uint32_t>(column);
  next_column_ = column + 1;
  return true;
}

// False where the cell cannot be used.
bool RowCells::text_of(pugi::xml_node node, std::string& text) {
  const std::string_view type = attribute(node, "t");
  if (type == "inlineStr") {
    append_shown(child(node, "is"), text);
    return true;
  }
  const std::string written = plain_text(child(node, "v"));
  if (type == "str") {
    append_unescaped(written, text);
    return true;
  }
  const std::string value = collapsed(written);
  if (value.empty())
    return !child(node, "f") ||
           refuse("has a formula without its result; let a spreadsheet program save the workbook");
  if (type.empty() || type == "n") return number_text(node, value, text);
  if (type == "s") return shared_text(value, text);
  if (type == "b") return truth_text(value, text);
  if (type == "e") return refuse("holds the error " + in_quotes(value));
  if (type != "d") return refuse("is of the unknown kind " + in_quotes(type));
  text = value;
  return true;
}

bool RowCells::shared_text(const std::string& value, std::string& text) {
  const std::optional<uint64_t> index = whole_number(value);
  const auto shared = index ? meaning_.strings.at(*index) : std::nullopt;
  if (!shared)
    return refuse("refers to the text " + in_quotes(value) + ", which is not in the workbook");
  text = *shared;
  return true;
}

bool RowCells::truth_text(const std::string& value, std::string& text) {
  if (!is_true(value) && !is_false(value)) return refuse("is neither true nor false");
  text = is_true(value) ? "true" : "false";
  return true;
}

bool RowCells::number_text(pugi::xml_node node, const std::string& value, std::string& text) {
  const std::optional<double> number = number_of(value);
  if (!number) return refuse("holds " + in_quotes(value) + ", which is no number");
  const std::string_view written = attribute(node, "s");
  const std::optional<uint64_t> style = written.empty() ? 0 : whole_number(written);
  const std::optional<NumberKind> kind = style ? meaning_.styles.kind(*style) : std::nullopt;
  if (!kind)
    return refuse("has the style " + in_quotes(written) + ", which the workbook does not explain");
  if (*kind != NumberKind::kNumber) {
    SerialText made = serial_text(*number, *kind, meaning_.dates);
    if (!made.fault.empty()) return refuse("holds " + in_quotes(value) + ": " + made.fault);
    text = std::move(made.text);
    return true;
  }
  text = value;
  if (meaning_.numbers == NumberForm::kShortest) text = shortest_decimal(*number).value_or(value);
  return true;
}

bool RowCells::refuse(std::string_view why) {
  fault_ = "cell " + place() + " " + std::string(why);
  return false;
}

std::string RowCells::place() const { return column_letters(column_) + std::to_string(number_); }

}  // namespace girdle::sheet
