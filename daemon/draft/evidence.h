// What was seen of columns, in words for a comment.
//
// Pure; any thread. Every text is one line; what samples hold is shown cut and without control
// characters.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/text.h"
#include "draft/columns.h"
#include "draft/yaml_text.h"

namespace girdle::draft {

using base::counted;
using base::listed;
// "once", "3 times".
std::string times_shown(size_t count);
// In double quotes, cut.
std::string in_quotes(std::string_view text);
// "on line 4"; "in record 4" where lines are not known.
std::string place_shown(const std::vector<RawRecord>& records, size_t record);

// Its words and how often each comes.
std::string words_shown(const Column& column);
std::string key_shown(const Column& column);
std::string numbers_shown(const Column& column);
// Of a column that no field takes.
std::string column_shown(const Column& column);

// The columns of a time, and by which forms all of their texts, joined by a space, are times.
struct TimeColumns {
  std::vector<const Column*> columns;
  size_t records = 0;  // that have a time
  std::vector<TimeReading> readings;
};
TimeColumns time_of(const std::vector<Column>& columns, const std::vector<size_t>& which);
std::string time_shown(const TimeColumns& time, const TimeReading& reading);
// What the form makes of them.
std::string form_shown(const TimeReading& reading);

}  // namespace girdle::draft
