// The cells of a row as texts (ECMA-376, part 1, 18.3.1.73 and 18.3.1.4).
#pragma once

#include <cstdint>
#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "sheet/serial_time.h"
#include "sheet/shared_strings.h"
#include "sheet/styles.h"

namespace girdle::sheet {

// A cell that shows something.
struct Cell {
  uint32_t column = 0;  // A is 0
  std::string text;
};

enum class NumberForm { kWritten, kShortest };

// What cells mean in one workbook.
struct CellMeaning {
  const SharedStrings& strings;
  const Styles& styles;
  DateBase dates;
  NumberForm numbers;
};

// Rows in the order of the sheet, one at a time.
class RowCells {
 public:
  // `meaning` lives longer than this.
  explicit RowCells(const CellMeaning& meaning) : meaning_(meaning) {}

  // `row` is the text of a row element. What the getters give is valid until the next call.
  void read(std::string_view row);

  // The row's number, 1 for the first.
  uint64_t number() const { return number_; }
  // In the order of their columns.
  const std::vector<Cell>& cells() const { return cells_; }
  // Why the row cannot be used; empty where it can.
  const std::string& fault() const { return fault_; }

 private:
  void set_number(std::string_view written);
  void cell(pugi::xml_node node);
  bool set_column(std::string_view written);
  bool text_of(pugi::xml_node node, std::string& text);
  bool shared_text(const std::string& value, std::string& text);
  bool truth_text(const std::string& value, std::string& text);
  bool number_text(pugi::xml_node node, const std::string& value, std::string& text);
  bool refuse(std::string_view why);
  std::string place() const;

  const CellMeaning& meaning_;
  pugi::xml_document document_;
  uint64_t number_ = 0;
  uint64_t next_column_ = 0;  // where a cell stands that does not say so
  uint32_t column_ = 0;       // of the cell at hand
  std::vector<Cell> cells_;
  std::string fault_;
};

}  // namespace girdle::sheet
