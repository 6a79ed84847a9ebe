#include "reading/columns.h"

#include <algorithm>
#include <vector>

#include "base/text.h"

namespace girdle::reading {

bool find_column(const girdle_record& record, std::string_view name, int16_t& column,
                 std::string& reason) {
  column = -1;
  for (size_t c = 0; c < record.count; ++c) {
    if (view(record.names[c]) != name) continue;
    if (column >= 0) {
      reason =
          "there are two columns \"" + base::excerpt(name) + "\"; each needs a name of its own";
      return false;
    }
    column = static_cast<int16_t>(c);
  }
  return true;
}

std::string no_column(std::string_view name) {
  return "there is no column \"" + base::excerpt(name) + '"';
}

std::string columns_there(const girdle_record& record) {
  std::vector<std::string_view> there;
  for (size_t c = 0; c < std::min<size_t>(record.count, 30); ++c)
    there.push_back(view(record.names[c]));
  if (there.empty()) return "; there is no column at all";
  return "; there is " + base::excerpt(base::listed(there), 300);
}

}  // namespace girdle::reading
