#include "casework/house.h"

#include "evidence/colour_grade.h"

namespace girdle::casework {

base::Result<Limit> Limit::parse(std::string_view text, bool is_color) {
  auto test = policy::UnaryTest::parse(text);
  if (!test) return test.error();
  std::vector<policy::Value> ranks;
  for (const std::string& name : test->names()) {
    const auto rank = is_color ? evidence::colour_rank(name) : std::nullopt;
    if (!rank) {
      return base::input_error("\"" + name + "\" is no " + (is_color ? "colour grade from D to Z" : "number") +
                               "; a limit is written like " + (is_color ? "[D..J]" : "[0.03..10] or >= 1.5"));
    }
    ranks.emplace_back(base::Decimal(*rank));
  }
  return Limit(std::move(test).value(), std::move(ranks));
}

const InstrumentRules& House::rules_of(std::string_view serial) const {
  static const InstrumentRules kUnknown;
  const auto at = instruments.find(serial);
  return at == instruments.end() ? kUnknown : at->second;
}

}  // namespace girdle::casework
