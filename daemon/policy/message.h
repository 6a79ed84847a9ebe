// How the texts of errors and problems show what they speak of. Private to policy/.
#pragma once

#include <string>
#include <string_view>

#include "base/text.h"

namespace girdle::policy {

// In double quotes, cut to a readable length, unprintable bytes escaped.
inline std::string quoted(std::string_view text, size_t limit = 60) {
  std::string out(1, '"');
  out += base::excerpt(text, limit);
  out += '"';
  return out;
}

}  // namespace girdle::policy
