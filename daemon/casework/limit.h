// What a value must be, so that an instrument can judge it: a unary test over numbers.
#pragma once

#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"
#include "policy/unary_test.h"

namespace girdle::casework {

// In the limits of a colour, the letters D to Z stand for their rank.
class Limit {
 public:
  // Errors as those of UnaryTest::parse; a name that is no colour grade, or stands where no colour
  // is meant; and limits that can be read and can never hold.
  static base::Result<Limit> parse(std::string_view text, bool is_color);

  // Nothing when it cannot be told.
  std::optional<bool> holds(const policy::Value& value) const {
    return test_.matches(value, ranks_);
  }

 private:
  Limit(policy::UnaryTest test, std::vector<policy::Value> ranks)
      : test_(std::move(test)), ranks_(std::move(ranks)) {}
  policy::UnaryTest test_;
  std::vector<policy::Value> ranks_;  // of the names in the test
};

}  // namespace girdle::casework
