// Workbooks for tests, as small as they can be, packed by libzip.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace girdle::sheet {

struct Part {
  std::string name;
  std::string bytes;
};

// A zip archive of these, packed or as they are.
std::string archive(const std::vector<Part>& parts, bool packed = false);

// What a test says of a workbook with one sheet; the rest is what every workbook has.
struct Book {
  std::string rows = {};                  // inside of sheetData
  std::vector<std::string> strings = {};  // each the inside of an si
  std::string formats = {};               // numFmt elements
  std::vector<std::string> styles = {};   // each the numFmtId of a cell style
  std::string properties = {};            // attributes of workbookPr
  std::string sheets = "<sheet name='Stones' sheetId='7' r:id='rId1'/>";
  std::string relations = {};   // more Relationship elements of the workbook
  std::string after_rows = {};  // what follows sheetData
};
std::vector<Part> parts(const Book& book);
inline std::string workbook(const Book& book) { return archive(parts(book)); }

// The beginning of the types of relationships (ECMA-376, part 4, transitional).
inline constexpr std::string_view kRelation =
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships/";

}  // namespace girdle::sheet
