#include "casework/limit.h"

#include <string>

#include "evidence/colour_grade.h"

namespace girdle::casework {
namespace {

// "colour grade from D to Z; a limit is written like [D..J]"
std::string right_of(bool is_color) {
  return is_color ? "colour grade from D to Z; a limit is written like [D..J]"
                  : "number; a limit is written like [0.03..10] or >= 1.5";
}

// Why a limit that can be read can never hold; empty where it can.
std::string never_true(const policy::UnaryTest& limit, bool is_color) {
  for (const policy::Comparison& comparison : limit.comparisons()) {
    const bool range = comparison.kind == policy::Comparison::Kind::kWithin;
    const policy::Operand& low = comparison.low;
    const policy::Operand& high = range ? comparison.high : low;
    for (const policy::Operand* end : {&low, &high}) {
      if (end->is_name() || policy::is_null(end->literal)) continue;
      if (!is_color && policy::has_type(end->literal, policy::Type::kNumber)) continue;
      return policy::to_json(end->literal) + " is no " + right_of(is_color);
    }
    if (!low.is_name() || !high.is_name()) continue;
    const auto rank = [&](const policy::Operand& end) {
      return evidence::colour_rank(limit.names()[static_cast<size_t>(end.fact)]);
    };
    if (rank(low) > rank(high))
      return "the range runs backwards: write the grade nearer to D first";
  }
  return {};
}

}  // namespace

base::Result<Limit> Limit::parse(std::string_view text, bool is_color) {
  auto test = policy::UnaryTest::parse(text);
  if (!test) return test.error();
  std::vector<policy::Value> ranks;
  for (const std::string& name : test->names()) {
    const auto rank = is_color ? evidence::colour_rank(name) : std::nullopt;
    if (!rank) return base::input_error("\"" + name + "\" is no " + right_of(is_color));
    ranks.emplace_back(base::Decimal(*rank));
  }
  if (const std::string wrong = never_true(*test, is_color); !wrong.empty())
    return base::input_error(wrong);
  return Limit(std::move(test).value(), std::move(ranks));
}

}  // namespace girdle::casework
