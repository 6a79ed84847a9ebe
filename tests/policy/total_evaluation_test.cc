// Whatever the text of a cell and whatever the facts: reading ends in a test or a reason, and
// evaluation in an answer.
#include <gtest/gtest.h>

#include <random>

#include "policy/table_builder.h"
#include "policy/unary_test.h"

namespace girdle::policy {
namespace {

const std::vector<std::string> kPieces = {"<",        "<=",
                                          ">",        ">=",
                                          "=",        "!=",
                                          "[",        "]",
                                          "(",        ")",
                                          "..",       ",",
                                          "not(",     "not",
                                          "-",        " ",
                                          "\"a\"",    "\"b",
                                          "1",        "2.5",
                                          "-3",       ".",
                                          "1e9",      "true",
                                          "null",     "false",
                                          "name",     "a.b.c",
                                          "date(",    "@",
                                          "\\u",      "'",
                                          "\n",       "é",
                                          "\xFF",     "99999999999999999999999999999999999",
                                          "/",        "\"\\n\"",
                                          "[1..9]",   "date(\"2026-02-28\")",
                                          "@\"P1D\"", "date and time(",
                                          "+",        "**"};

std::string random_cell(std::mt19937& random) {
  std::string cell;
  for (auto n = random() % 8; n > 0; --n) cell += kPieces[random() % kPieces.size()];
  return cell;
}

// A comparison or a range that is mostly right, so that lists and tables of such are read often
// enough.
std::string random_test(std::mt19937& random) {
  static const std::vector<std::string> kOperands = {"1",        "2.5",
                                                     "-3",       "\"a\"",
                                                     "\"b\"",    "true",
                                                     "null",     "p",
                                                     "q.r",      "date(\"2026-02-28\")",
                                                     "@\"P1M\"", "@\"10:00:00+01:00\""};
  static const std::vector<std::string> kMarks = {"", "=", "!=", "<", "<=", ">", ">="};
  const auto operand = [&] { return kOperands[random() % kOperands.size()]; };
  if (random() % 3 > 0) return kMarks[random() % kMarks.size()] + operand();
  return "[(]"[random() % 3] + operand() + ".." + operand() + "[)]"[random() % 3];
}

Value random_value(std::mt19937& random) {
  switch (random() % 9) {
    case 5:
      return date("2026-02-28");
    case 6:
      return random() % 2 == 0 ? time("10:00:00@Europe/Brussels") : time("10:00:00+01:00");
    case 7:
      return date_time("2026-02-28T24:00:00Z");
    case 8:
      return random() % 2 == 0 ? months("P1M") : days("P1D");
    case 0:
      return {};
    case 1:
      return random() % 2 == 0;
    case 2:
      return base::Decimal(static_cast<int64_t>(random() % 4));
    case 3:
      return std::string(1, static_cast<char>('a' + random() % 3));
    default:
      return *base::Decimal::parse("1e-30");
  }
}

TEST(TotalEvaluation, EveryCellIsReadOrRefusedWithAReason) {
  std::mt19937 random(1);
  int read = 0;
  for (int i = 0; i < 50000; ++i) {
    const std::string cell = random_cell(random);
    const auto test = UnaryTest::parse(cell);
    if (!test) {
      EXPECT_FALSE(test.error().text.empty()) << cell;
      continue;
    }
    ++read;
    EXPECT_NE(test->accepts_anything(), !test->comparisons().empty()) << cell;
  }
  EXPECT_GT(read, 1000);
}

bool is_plain_list(const std::string& cell) {
  const auto test = UnaryTest::parse(cell);
  return test && !test->is_negated() && !test->accepts_anything();
}

// 10.3.2.10 rule 15.b: not(…) answers the opposite, and has no answer where the list has none.
TEST(TotalEvaluation, NegationIsTheOppositeOfItsList) {
  std::mt19937 random(2);
  int compared = 0;
  for (int i = 0; i < 50000; ++i) {
    const std::string cell = random_cell(random);
    if (!is_plain_list(cell)) continue;
    const auto plain = UnaryTest::parse(cell);
    const auto opposite = UnaryTest::parse("not(" + cell + ")");
    ASSERT_TRUE(opposite.ok()) << cell;
    const Value input = random_value(random);
    const std::vector<Value> facts = {random_value(random), random_value(random)};
    EXPECT_EQ(opposite->evaluate(input, facts), negated(plain->evaluate(input, facts))) << cell;
    ++compared;
  }
  EXPECT_GT(compared, 1000);
}

// Kleene's or does not look at the order of its parts.
TEST(TotalEvaluation, OrderOfAListDoesNotMatter) {
  std::mt19937 random(3);
  int compared = 0;
  for (int i = 0; i < 50000; ++i) {
    const std::string a = random_test(random), b = random_test(random);
    if (!is_plain_list(a) || !is_plain_list(b)) continue;
    const auto ab = UnaryTest::parse(a + "," + b);
    const auto ba = UnaryTest::parse(b + "," + a);
    ASSERT_TRUE(ab.ok() && ba.ok()) << a << " | " << b;
    if (ab->names() != ba->names()) continue;  // the facts would change places
    const Value input = random_value(random);
    const std::vector<Value> facts = {random_value(random), random_value(random)};
    EXPECT_EQ(ab->evaluate(input, facts), ba->evaluate(input, facts)) << a << " | " << b;
    ++compared;
  }
  EXPECT_GT(compared, 10000);
}

TEST(TotalEvaluation, EveryTableThatIsReadAnswersAllFacts) {
  std::mt19937 random(4);
  int evaluated = 0;
  const std::vector<std::string> policies = {"UNIQUE",  "ANY",        "FIRST",       "PRIORITY",
                                             "COLLECT", "RULE ORDER", "OUTPUT ORDER"};
  for (int i = 0; i < 20000; ++i) {
    auto spec = one_column(policies[random() % policies.size()], {});
    spec.inputs = {{"x"}, {"y"}};
    spec.outputs[0].allowed_values = "1, 2, 3";
    for (const auto* then : {"1", "x", "3"}) {
      const std::string list = random_test(random) + "," + random_test(random);
      const bool negated = random() % 4 == 0;
      spec.rules.push_back(
          {{negated ? "not(" + list + ")" : list, random() % 2 ? "-" : "< 2"}, {then}});
    }
    const auto result = Table::compile(spec);
    const auto* table = std::get_if<Table>(&result);
    if (table == nullptr) continue;
    std::vector<Value> facts(table->fact_names().size());
    for (Value& fact : facts) fact = random_value(random);
    const Decision decision = table->evaluate(facts);
    EXPECT_EQ(decision.kind == Decision::Kind::kError, !decision.error.text.empty());
    EXPECT_EQ(decision.kind == Decision::Kind::kDecided, !decision.values.empty());
    EXPECT_EQ(to_json(table->explain(facts).decision), to_json(decision));
    ++evaluated;
  }
  EXPECT_GT(evaluated, 1000);
}

// A calculation ends in a value or in a reason, whatever its facts.
TEST(TotalEvaluation, EveryExpressionThatIsReadHasAValueOrAReason) {
  std::mt19937 random(5);
  static const std::vector<std::string> kParts = {"p",
                                                  "q",
                                                  "2",
                                                  "0.1",
                                                  "date(\"2026-02-28\")",
                                                  "@\"P1M\"",
                                                  "@\"-P1DT1H\"",
                                                  "(p + q)",
                                                  "-p",
                                                  "null",
                                                  "\"a\"",
                                                  "@\"10:00:00\"",
                                                  "@\"999999999-12-31T23:59:59Z\""};
  static const std::vector<std::string> kSigns = {"+", "-", "*", "/", "**", "<", "="};
  const auto part = [&] { return kParts[random() % kParts.size()]; };
  int values = 0, reasons = 0;
  for (int i = 0; i < 50000; ++i) {
    std::string text = part();
    for (auto n = random() % 3; n > 0; --n)
      text += ' ' + kSigns[random() % kSigns.size()] + ' ' + part();
    const auto expression = Expression::parse(text);
    if (!expression) {
      EXPECT_FALSE(expression.error().text.empty()) << text;
      continue;
    }
    const std::vector<Value> facts = {random_value(random), random_value(random)};
    const auto value = expression->evaluate(facts);
    ++(value ? values : reasons);
    EXPECT_TRUE(value.ok() || !value.error().text.empty()) << text;
  }
  EXPECT_GT(values, 1000);
  EXPECT_GT(reasons, 1000);
}

}  // namespace
}  // namespace girdle::policy
