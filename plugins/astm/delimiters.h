// The four marks that a message's header record tells: "H|\^&" has the field delimiter, the repeat
// delimiter, the component delimiter and the escape character, in this order (ASTM E1394, CLSI
// LIS02).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace girdle::astm {

struct Delimiters {
  char field;
  char repeat;
  char component;
  char escape;

  // Of a header record. Nothing, and why in `fault`, where it does not tell them.
  static std::optional<Delimiters> from(std::string_view header, std::string& fault);
};

}  // namespace girdle::astm
