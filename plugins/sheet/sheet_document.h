// One workbook, whole and in memory: its rows to records.
//
// A row has no bytes of its own in a zip archive. The archive's bytes are shared out among the rows
// of the sheet, in their order and evenly: what is told of a row is told of its share, or of as
// much of it as a record may have. So records and asides come in order, and no two rows share a
// byte.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "kit/output.h"
#include "sheet/merged_cells.h"
#include "sheet/row_cells.h"
#include "sheet/workbook.h"

namespace girdle::sheet {

struct SheetOptions {
  std::string sheet = "1";
  uint64_t header = 1;  // 0: no row names the columns
  NumberForm numbers = NumberForm::kWritten;
  PackageLimits package;
  uint64_t max_bytes = 32u << 20;
};

class SheetDocument {
 public:
  // All live longer than this.
  SheetDocument(std::string_view bytes, const SheetOptions& options, uint64_t max_fields,
                kit::Output& out);

  // Tells of every row. Nothing is told before all of the sheet was looked at once: of a workbook
  // that is damaged somewhere, or no workbook, nothing is read.
  void read();

 private:
  std::string open();
  std::string survey();
  bool survey_row(RowCells& row, std::string_view text, std::string& wrong);
  std::string name_columns();
  std::string find_merged();
  std::string set_names(const std::vector<Cell>& header);
  void tell();
  void tell_row(const RowCells& row, uint64_t ordinal);
  std::string values_of(const std::vector<Cell>& cells);
  size_t field_of(uint32_t column) const {
    return column < fields_.size() ? fields_[column] : kNoName;
  }
  uint64_t share(uint64_t ordinal) const;
  PartLimits part_limits() const;

  const std::string_view bytes_;
  const SheetOptions& options_;
  const uint64_t max_fields_;
  kit::Output& out_;

  std::unique_ptr<Package> package_;
  Workbook workbook_;
  SharedStrings strings_;
  Styles styles_;
  uint64_t rows_ = 0;     // elements of the sheet, of rows that hold nothing too
  uint32_t columns_ = 0;  // that hold something

  MergedCells merged_;
  static constexpr size_t kNoName = SIZE_MAX;
  std::vector<size_t> fields_;   // by column: which of names_
  std::vector<uint32_t> named_;  // columns that have a name
  std::vector<std::string> names_;
  std::vector<girdle_text> lent_names_;
  std::vector<girdle_text> values_;
};

}  // namespace girdle::sheet
