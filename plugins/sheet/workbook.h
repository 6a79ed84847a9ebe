// Where in a workbook its parts lie: found by relationships, as ECMA-376 has it (part 2, 6.5; part
// 1, 12.1 and 18.2), never by their names.
#pragma once

#include <string>
#include <string_view>

#include "sheet/part_elements.h"
#include "sheet/serial_time.h"

namespace girdle::sheet {

struct Workbook {
  std::string sheet;    // the part of the sheet that was asked for
  std::string strings;  // the part of the shared strings; empty where there is none
  std::string styles;   // likewise
  DateBase dates = DateBase::k1900;
};

// `wanted`: a sheet's number in the order of the tabs, those that are hidden too; else its name.
// Why the sheet cannot be read; empty where `found` has it. Nothing outside the workbook is looked
// at.
std::string find_sheet(const Package& package, std::string_view wanted, const PartLimits& limits,
                       Workbook& found);

// The part that `target` names in a relationship of the part `from`; empty where it leads out of
// the workbook.
std::string resolved(std::string_view from, std::string_view target);

}  // namespace girdle::sheet
