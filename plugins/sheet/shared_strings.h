// The texts that cells share (ECMA-376, part 1, 18.4).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sheet/part_elements.h"

namespace girdle::sheet {

class SharedStrings {
 public:
  // No more than so many bytes are kept. Why they cannot be read; empty where they were.
  std::string read(const Package& package, const std::string& part, const PartLimits& limits,
                   uint64_t max_bytes);

  // Nothing where there is none with this number. Valid as long as this.
  std::optional<std::string_view> at(uint64_t number) const;

 private:
  std::string texts_;  // one after the other
  std::vector<uint64_t> ends_;
};

}  // namespace girdle::sheet
