#include "sheet/sheet_document.h"

#include <algorithm>
#include <pugixml.hpp>

#include "kit/text.h"
#include "sheet/cell_place.h"

namespace girdle::sheet {

namespace {

constexpr std::string_view kRows = "/worksheet/sheetData/row";
constexpr uint64_t kShared = 8;               // of max_record_bytes: the shared texts
constexpr uint64_t kLeastElement = 64 << 10;  // bytes of one element of a part

}  // namespace

SheetDocument::SheetDocument(std::string_view bytes, const SheetOptions& options,
                             uint64_t max_fields, kit::Output& out)
    : bytes_(bytes), options_(options), max_fields_(max_fields), out_(out) {}

void SheetDocument::read() {
  std::string fault = open();
  if (fault.empty()) fault = survey();
  if (fault.empty()) fault = find_merged();
  if (fault.empty() && rows_ == 0 && options_.header > 0) {
    out_.aside(bytes_.size(), 0, 0, "no header row: the sheet holds no row at all");
  } else if (!fault.empty()) {
    out_.aside(0, bytes_.size(), 0, fault);
  } else {
    tell();
  }
}

PartLimits SheetDocument::part_limits() const { return {std::max(out_.limit(), kLeastElement)}; }

std::string SheetDocument::open() {
  std::string fault;
  package_ = Package::open(bytes_, options_.package, fault);
  if (!package_) return fault;
  fault = find_sheet(*package_, options_.sheet, part_limits(), workbook_);
  if (fault.empty() && !workbook_.strings.empty())
    fault = strings_.read(*package_, workbook_.strings, part_limits(),
                          kShared * std::max(out_.limit(), kLeastElement));
  if (fault.empty() && !workbook_.styles.empty())
    fault = styles_.read(*package_, workbook_.styles, part_limits());
  return fault;
}

// Looks at all of the sheet, finds the header, and counts what there is.
std::string SheetDocument::survey() {
  const CellMeaning meaning{strings_, styles_, workbook_.dates, options_.numbers};
  RowCells row(meaning);
  std::string wrong = "row " + std::to_string(options_.header) + " holds nothing";
  std::string fault =
      each_element(*package_, workbook_.sheet, kRows, part_limits(), [&](std::string_view text) {
        ++rows_;
        return survey_row(row, text, wrong);
      });
  if (!fault.empty()) return fault;
  if (rows_ > bytes_.size()) return "the sheet has more rows than the workbook has bytes";
  if (options_.header == 0) return name_columns();
  return rows_ == 0 || wrong.empty() ? "" : "the header row cannot be used: " + wrong;
}

// `wrong`: why there is no header yet. False where there can be none.
bool SheetDocument::survey_row(RowCells& row, std::string_view text, std::string& wrong) {
  const bool header_comes = row.number() < options_.header;
  if (options_.header > 0 && !header_comes) return true;
  row.read(text);
  if (!row.cells().empty()) columns_ = std::max(columns_, row.cells().back().column + 1);
  if (options_.header == 0 || row.number() != options_.header) return true;
  if (row.cells().empty() && row.fault().empty()) return true;
  wrong = row.fault().empty() ? set_names(row.cells()) : row.fault();
  return wrong.empty();
}

std::string SheetDocument::find_merged() {
  bool good = true;
  std::string fault = each_node(*package_, workbook_.sheet, "/worksheet/mergeCells/mergeCell",
                                part_limits(), [&](pugi::xml_node one) {
                                  good = merged_.add(attribute(one, "ref"), named_);
                                  return good;
                                });
  merged_.sort();
  if (fault.empty() && !good)
    return workbook_.sheet + ": merged cells that are no cells, or too many";
  return fault;
}

// A, B, C, as far as any row goes.
std::string SheetDocument::name_columns() {
  std::vector<Cell> letters;
  for (uint32_t column = 0; column < columns_; ++column)
    letters.push_back({column, column_letters(column)});
  return set_names(letters);
}

std::string SheetDocument::set_names(const std::vector<Cell>& header) {
  if (header.size() > max_fields_)
    return "it names " + std::to_string(header.size()) + " columns; at most " +
           std::to_string(max_fields_) + " are read";
  for (const Cell& cell : header) {
    if (cell.text.size() > out_.limit()) return "a name is too long";
    if (std::find(names_.begin(), names_.end(), cell.text) != names_.end())
      return "two columns are named " + kit::in_quotes(cell.text);
    fields_.resize(cell.column, kNoName);
    fields_.push_back(names_.size());
    named_.push_back(cell.column);
    names_.push_back(cell.text);
  }
  for (const std::string& name : names_) lent_names_.push_back(kit::lend(name));
  return {};
}

// The first byte of a row's share.
uint64_t SheetDocument::share(uint64_t ordinal) const { return bytes_.size() * ordinal / rows_; }

void SheetDocument::tell() {
  const CellMeaning meaning{strings_, styles_, workbook_.dates, options_.numbers};
  RowCells row(meaning);
  uint64_t ordinal = 0;
  const std::string fault =
      each_element(*package_, workbook_.sheet, kRows, part_limits(), [&](std::string_view text) {
        row.read(text);
        if (row.number() > options_.header) tell_row(row, ordinal);
        ++ordinal;
        return !out_.stopped();
      });
  // It was read without a fault a moment ago.
  if (!fault.empty()) out_.aside(share(ordinal), bytes_.size() - share(ordinal), 0, fault);
}

void SheetDocument::tell_row(const RowCells& row, uint64_t ordinal) {
  const uint64_t begin = share(ordinal);
  const uint64_t length = std::min(share(ordinal + 1) - begin, out_.limit());
  std::string fault = row.fault();
  if (fault.empty() && row.cells().empty()) return;
  if (fault.empty()) fault = values_of(row.cells());
  const std::optional<std::string> merged = merged_.covers(row.number());
  if (fault.empty() && merged) {
    fault = "a cell of the merged cells " + *merged +
            " that is not their first; which value it has, nobody wrote";
  }
  if (!fault.empty()) {
    out_.aside(begin, length, row.number(), fault);
  } else {
    out_.emit({sizeof(girdle_record), 1, begin, length, row.number(), values_.size(),
               lent_names_.data(), values_.data()});
  }
}

// The cells under their names; an empty text where a column has none.
std::string SheetDocument::values_of(const std::vector<Cell>& cells) {
  values_.assign(names_.size(), girdle_text{});
  for (const Cell& cell : cells) {
    const size_t field = field_of(cell.column);
    if (field == kNoName) {
      return "a value in column " + column_letters(cell.column) + ", which has no name in row " +
             std::to_string(options_.header);
    }
    if (cell.text.size() > out_.limit())
      return "a text longer than " + std::to_string(out_.limit()) + " bytes";
    values_[field] = kit::lend(cell.text);
  }
  return {};
}

}  // namespace girdle::sheet
