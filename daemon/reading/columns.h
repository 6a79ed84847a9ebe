// Where the columns that a mapping names are in a record: found once for a layout.
#pragma once

#include <girdle/reader.h>

#include <cstdint>
#include <string>
#include <string_view>

#include "reading/field_values.h"
#include "reading/lent_text.h"
#include "reading/mapper.h"

namespace girdle::reading {

// The column's text, without outer space.
inline std::string_view value(const girdle_record& record, int16_t column) {
  return without_outer_space(view(record.values[column]));
}

// The number of the column, or -1 where it is not there. False, with the reason, where there are
// two of the name.
bool find_column(const girdle_record& record, std::string_view name, int16_t& column,
                 std::string& reason);

// `there is no column "result"`, and `; there is …` with those that there are.
std::string no_column(std::string_view name);
std::string columns_there(const girdle_record& record);

// The layout whose columns were found last.
class Layout {
 public:
  // Has `find(record, reason)` find the columns again where the record has another layout than the
  // last one.
  template <class Find>
  Mapper::Applied bind(const girdle_record& record, uint64_t document, std::string& reason,
                       Find find) {
    if (document == document_ && layout_ != 0 && record.layout == layout_) {
      if (record.count == count_) return Mapper::Applied::kMade;
      reason = "two records of one layout have other numbers of fields";
      return Mapper::Applied::kBreach;
    }
    document_ = document;
    layout_ = 0;
    if (!find(record, reason)) return Mapper::Applied::kRefused;
    layout_ = record.layout;
    count_ = record.count;
    return Mapper::Applied::kMade;
  }

 private:
  uint64_t document_ = 0;
  uint32_t layout_ = 0;  // 0: none
  size_t count_ = 0;
};

}  // namespace girdle::reading
